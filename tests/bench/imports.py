"""
A former record's patients from CSV: uploaded, looked through, taken in, undone; 10,000 rows and
100,000, in a clinic that has 20,000 patients already.

The memory of the large file is compared with that of the small one: nothing may grow with the rows.
The worker that takes the small file in is killed by SIGKILL again and again.
"""

import os
import random
import signal
import time
from collections.abc import Callable
from datetime import date, timedelta
from io import BytesIO
from time import perf_counter

from django.core.files.base import File
from django.db import connections

from clinic.staff.models import User
from planning.imports.columns import Kind
from records.imports.enums import State
from records.imports.models import Import
from records.imports.queries.standing import standing_of
from records.imports.services.acts import begin, begin_undoing
from records.imports.services.batches import carry_on
from records.imports.services.mapping import map_columns
from records.imports.services.uploading import take_up
from records.patients.models import Patient
from tests.bench.building import scaled
from tests.bench.memory import growth_mb
from tests.bench.results import FAULTS, MEGABYTES, SECONDS, Result, summed_up
from tests.factories import make_user

SIZES = {"default": scaled(20_000, 30)}
FEW, MANY = scaled(10_000, 40), scaled(100_000, 90)
LONGEST_LIFE = 1.5
"""Seconds after which a worker is killed at the latest."""
_FIRST = ("Zoë", "Łucja", "Ann", "Jiří", "Mary", "Ivana", "Noor", "Bea")
_LAST = ("Example", "Sample", "Pattern", "Model", "Specimen", "Instance")


def build(count: int) -> None:
    """A clinic that has patients already, of whom the files hold none."""
    make_user("owner")
    Patient.objects.bulk_create(
        (
            Patient(record_number=f"B{number:06d}", full_name=f"Earlier{number} Patient",
                    birth_date=_born(number), phone_tail=f"{number:09d}")
            for number in range(count)
        ),
        batch_size=5_000,
    )  # fmt: skip


def measure() -> list[Result]:
    owner = User.objects.get(username="owner")
    few, few_lines = _through(_file(0, FEW), owner)
    _, many_lines = _through(_file(FEW, MANY), owner)
    faults, kills = _killed(_file(FEW + MANY, FEW), owner)
    seconds = _undone(few, owner)
    return [
        *few_lines, *many_lines,
        summed_up(f"{FEW:,} rows taken in by a worker that was killed {kills} times", [faults],
                  unit=FAULTS, goal=0, note="patients doubled or lost"),
        summed_up(f"{FEW:,} rows undone", [seconds], unit=SECONDS),
    ]  # fmt: skip


def _file(first: int, count: int) -> BytesIO:
    """Rows as a former record writes them; no two of one person, one in a hundred refused."""
    lines = ["Number,Name,First name,Date of birth,Sex,Phone,E-mail,Address,Postcode,Town"]
    for number in range(first, first + count):
        phone = "4.47912E+11" if number % 100 == 99 else f"020 7{number:08d}"
        lines.append(
            f"N{number},{_LAST[number % 6]}{number},{_FIRST[number % 8]}{number},"
            f"{_born(number):%d/%m/%Y},{'fmx'[number % 3]},{phone},p{number}@example.org,"
            f"{number} Road,LK1 1AA,Larkstone"
        )
    return BytesIO("\n".join(lines).encode())


def _born(number: int) -> date:
    return date(1940, 1, 1) + timedelta(days=number * 7 % 24_000)


def _through(data: BytesIO, owner: User) -> tuple[Import, list[Result]]:
    taken: list[Import] = []
    rows = data.getvalue().count(b"\n")
    results = []

    def step(what: str, act: Callable[[], object]) -> None:
        start = perf_counter()
        grown = growth_mb(act)
        seconds = perf_counter() - start
        results.append(
            summed_up(f"{rows:,} rows {what}", [seconds], unit=SECONDS,
                      note=f"{rows / seconds:,.0f} rows a second")
        )  # fmt: skip
        results.append(
            summed_up(f"{rows:,} rows {what}: growth of the process", [grown], unit=MEGABYTES)
        )

    step("uploaded", lambda: taken.append(_take_up(data, owner)))
    step("looked through", lambda: _look_through(taken[0], owner))
    step("taken in", lambda: _take_in(taken[0], owner))
    return taken[0], results


def _take_up(data: BytesIO, owner: User) -> Import:
    return take_up(file=File(data, "old.csv"), kind=Kind.PATIENTS, letters=None, actor=owner)


def _look_through(taken: Import, owner: User) -> None:
    map_columns(
        taken=taken, mapping=taken.mapping, date_order="day", measure=None, actor=owner
    )  # fmt: skip
    carry_on(taken=taken, seconds=3_600)


def _take_in(taken: Import, owner: User) -> None:
    begin(taken=taken, actor=owner)
    carry_on(taken=taken, seconds=3_600)


def _killed(data: BytesIO, owner: User) -> tuple[int, int]:
    """Patients doubled or lost where processes take turns, each killed at a moment of its own."""
    chance = random.Random(1)  # noqa: S311
    taken = _take_up(data, owner)
    _look_through(taken, owner)
    new, before = standing_of(Import.objects.get(pk=taken.pk)).new, Patient.objects.count()
    begin(taken=taken, actor=owner)
    kills = 0
    while Import.objects.get(pk=taken.pk).state == State.RUNNING:
        connections.close_all()  # no child may use what its parent holds
        worker = os.fork()
        if worker == 0:
            carry_on(taken=taken, seconds=3_600)
            os._exit(0)
        time.sleep(chance.uniform(0.05, LONGEST_LIFE))
        os.kill(worker, signal.SIGKILL)
        _, status = os.waitpid(worker, 0)
        kills += os.WIFSIGNALED(status)
    return abs(Patient.objects.count() - before - new), kills


def _undone(taken: Import, owner: User) -> float:
    start = perf_counter()
    begin_undoing(taken=taken, reason="Bench", actor=owner)
    carry_on(taken=taken, seconds=3_600)
    return perf_counter() - start
