"""
A clinic's morning: 15 front desks, 8 tablets and 2 owners before one server on PostgreSQL.

The server is what `make demo` starts, with the tool's own settings. Everybody presses something
every few seconds (`people.py`), each desk has today's diary open beside it, and after each press
the same browser asks the empty view (`bare.py`): each request is compared with the one that met the
same load. What is asked in the first seconds, while the server fills its caches, is not counted.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path

from django.conf import settings
from django.test import Client
from django.utils import timezone

from clinic.staff.models import User
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.sessions.models import TreatmentSession
from tests.bench.building import is_small, scaled
from tests.bench.morning.busy_clinic import SMALL, Size, fill_clinic
from tests.bench.morning.lines import Sample
from tests.bench.morning.people import Clinic, Who
from tests.bench.results import FAULTS, MILLISECONDS, SECONDS, Result, compared, summed_up
from tests.chaos.server import ROOT, Server

SIZES = {"default": 0}
PROCESSES = 2
COUNTED_SECONDS, WARMING_SECONDS = scaled(120, 6), scaled(15, 2)
GOAL_MS = 150
SHOWN_FAULTS = 10


def build(_count: int) -> None:
    fill_clinic(SMALL if is_small() else Size(), timezone.now())


def measure() -> Iterator[Result]:
    """Each kind of request in milliseconds and to the empty view; faults; the server's work."""
    people = everybody()
    with served() as server:
        before = server.processor_seconds
        _tell(f"Load average before: {_load()}")
        samples = generate(server.port, the_clinic(), people)
        _tell(f"Load average after: {_load()}")
        used = server.processor_seconds - before
    yield from lines(samples)
    yield summed_up(
        "The server's processor time, PostgreSQL's left out", [used], unit=SECONDS,
        note=f"of {WARMING_SECONDS + COUNTED_SECONDS} s, {os.cpu_count()} cores",
    )  # fmt: skip


def lines(samples: Sequence[Sample]) -> Iterator[Result]:
    faults = [sample.fault for sample in samples if sample.fault]
    _tell(*faults[:SHOWN_FAULTS])
    for kind in sorted({sample.kind for sample in samples}):
        good = [sample for sample in samples if sample.kind == kind and not sample.fault]
        if not good:
            continue
        # The page with all its panels is several requests, each with a goal of its own.
        goal = None if "with all" in kind else GOAL_MS
        yield summed_up(
            kind, [1000 * sample.seconds for sample in good], unit=MILLISECONDS, goal=goal,
            judged="p95", note=f"{len(good):,} of them",
        )  # fmt: skip
        yield compared(
            f"{kind}, to an empty view",
            [sample.seconds for sample in good],
            [sample.empty for sample in good],
        )
    yield summed_up(
        "Requests with a fault", [len(faults)], unit=FAULTS, goal=0, note=f"of {len(samples):,}"
    )


def the_clinic() -> Clinic:
    return Clinic(
        today=timezone.localdate().isoformat(),
        patients=list(Patient.objects.order_by("pk").values_list("pk", "full_name")),
        practitioners=list(
            User.objects.filter(is_injector=True).order_by("pk").values_list("pk", flat=True)
        ),
    )


def everybody() -> list[Who]:
    """All of the clinic's people, and the second screen of each desk."""
    desks = list(User.objects.filter(is_front_desk=True).order_by("pk"))
    coming = Appointment.objects.on(timezone.localdate()).filter(state=AppointmentState.BOOKED)
    # Taken from the end of each list: whoever comes next is marked first.
    arriving = list(coming.order_by("-starts_at").values_list("pk", flat=True))
    last = Appointment.objects.latest("starts_at").starts_at
    days = (timezone.localdate(last) - timezone.localdate()).days
    people = [
        Who(
            role="desk", session=signed_in(desk), user=desk.pk, seed=desk.pk,
            arriving=arriving[number :: len(desks)],
            booking_days=list(range(number + 1, days + 1, len(desks))),
        )
        for number, desk in enumerate(desks)
    ]  # fmt: skip
    people += [
        Who(role="diary", session=one.session, user=one.user, seed=-one.seed) for one in people
    ]
    for session in TreatmentSession.objects.unsigned().order_by("pk").select_related("injector"):
        injector, unit = session.injector, session.tray.get().unit_id
        people.append(
            Who(
                role="tablet", session=signed_in(injector), user=injector.pk, seed=injector.pk,
                charting=str(session.key), unit=unit,
            )
        )  # fmt: skip
    people += [
        Who(role="owner", session=signed_in(owner), user=owner.pk, seed=owner.pk)
        for owner in User.objects.filter(is_owner=True).order_by("pk")
    ]
    return people


def signed_in(user: User) -> str:
    client = Client()
    client.force_login(user)
    return client.cookies[settings.SESSION_COOKIE_NAME].value


def generate(port: int, clinic: Clinic, people: list[Who]) -> list[Sample]:
    """What people asked, from when the server was warm."""
    start = time.monotonic()
    running = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.bench.morning.generator"],
            cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )
        for _ in range(PROCESSES)
    ]  # fmt: skip
    for number, process in enumerate(running):
        orders = {
            "port": port, "until": start + WARMING_SECONDS + COUNTED_SECONDS,
            "clinic": asdict(clinic),
            "people": [asdict(who) for who in people[number::PROCESSES]],
        }  # fmt: skip
        process.stdin.write(json.dumps(orders))
        process.stdin.close()
    told = [process.stdout.read() for process in running]
    codes = [process.wait() for process in running]
    if any(codes):
        raise RuntimeError("A process of the load ended before its time; see above.")
    found = [Sample(**row) for text in told for row in json.loads(text)]
    return [sample for sample in found if sample.at > start + WARMING_SECONDS]


@contextmanager
def served() -> Iterator[Server]:
    """A server as a clinic runs it, with files of its own."""
    with tempfile.TemporaryDirectory(prefix="clinic-bench-") as folder:
        os.environ.update(
            DJANGO_SETTINGS_MODULE="tests.bench.morning.production",
            CLINIC_VAR=folder,
            CLINIC_SECRET_KEY=settings.SECRET_KEY,
        )
        collect = [sys.executable, "manage.py", "collectstatic", "--noinput", "--verbosity", "0"]
        subprocess.run(collect, cwd=ROOT, check=True)
        server = Server(Path(folder))
        server.start()
        try:
            server.wait()
            yield server
            if told := server.log.read_text().partition("\n\n")[2]:
                _tell("The server said:", told)
        finally:
            server.kill()


def _load() -> str:
    return " ".join(f"{one:.2f}" for one in os.getloadavg())


def _tell(*words: str) -> None:
    for one in words:
        print(one, file=sys.stderr, flush=True)
