"""The worker lets a process of its own make whole records, and goes on sending meanwhile."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from records.whole_record import process, services, ticking
from records.whole_record.enums import State
from records.whole_record.ticking import Maker
from tests.factories import refreshed

ROOT = Path(__file__).parents[3]


class Started:
    """In place of a process: `ended_with` is None until it ends."""

    def __init__(self, program, **how) -> None:
        self.program, self.how, self.ended_with = program, how, None

    def poll(self) -> int | None:
        return self.ended_with


@pytest.fixture
def started(monkeypatch) -> list[Started]:
    found: list[Started] = []

    def popen(program, **how) -> Started:
        found.append(Started(program, **how))
        return found[-1]

    monkeypatch.setattr(ticking.subprocess, "Popen", popen)
    return found


@pytest.fixture
def in_this_process(monkeypatch):
    """The process of the tests is set up already, and keeps its own way to be stopped."""
    monkeypatch.setattr(process.django, "setup", lambda: None)
    monkeypatch.setattr(process.signal, "signal", lambda *args: None)


@pytest.mark.django_db
def test_a_tick_starts_one_process_and_does_not_wait_for_it(asked, started):
    maker = Maker()
    maker.tick()
    maker.tick()
    assert [one.program for one in started] == [
        [sys.executable, "-m", "records.whole_record.process"]
    ]
    assert started[0].how == {"cwd": settings.BASE_DIR}
    assert refreshed(asked).state is State.WAITING


@pytest.mark.django_db
def test_no_process_is_started_for_nothing(patient, started):
    Maker().tick()
    assert started == []


@pytest.mark.django_db
def test_one_that_failed_is_told_and_the_next_tick_starts_another(asked, started, caplog):
    maker = Maker()
    maker.tick()
    started[0].ended_with = -9
    maker.tick()
    assert len(started) == 2
    assert caplog.messages == ["The process that makes whole records ended with -9"]


@pytest.mark.django_db
def test_the_process_fails_without_telling_what_of(asked, in_this_process, monkeypatch, caplog):
    def render(content) -> bytes:
        raise OSError("no fonts")

    monkeypatch.setattr(services, "render", render)
    assert process.main() == 1
    assert caplog.messages == ["A whole record could not be made"]


@pytest.mark.django_db
def test_being_stopped_is_no_failed_try(asked, monkeypatch):
    def render(content) -> bytes:
        raise SystemExit(1)

    monkeypatch.setattr(services, "render", render)
    with pytest.raises(SystemExit):
        services.make_waiting()
    asked = refreshed(asked)
    assert (asked.begun_at, asked.tries) == (None, 0)


@pytest.mark.django_db(transaction=True)
def test_the_process_makes_what_waits_in_the_database_of_its_worker(asked):
    where = "sqlite://"
    if connection.vendor == "postgresql":
        where = os.environ["DATABASE_URL"].rsplit("/", 1)[0]
    url = f"{where}/{connection.settings_dict['NAME']}"
    env = os.environ | {"DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "tests.settings"}
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-m", "records.whole_record.process"],
        cwd=ROOT, env=env, timeout=60, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    record = refreshed(asked)
    assert record.state is State.MADE
    assert bytes(record.pdf).startswith(b"%PDF-1.7")
