"""There is always a tick to come, whatever became of the last one."""

import signal
from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.management.commands import db_worker
from django_tasks_db.models import DBTaskResult

from clinic.background import ticks
from clinic.background.models import WorkerSeen
from clinic.background.queries import worker_silence
from clinic.background.queue import GIVEN_UP_AFTER, KEPT_FOR, keep_ticking, tick_now
from clinic.background.ticks import TickFailed, run_all
from clinic.background.worker import ClinicWorker

MINUTE = timedelta(minutes=1)
pytestmark = pytest.mark.django_db


@pytest.fixture
def clock():
    with time_machine.travel("2026-12-01T10:00Z", tick=False) as traveller:
        yield traveller


@pytest.fixture
def ticked(monkeypatch):
    """How often the only tick there is was run; it raises what is put into `ticked.error`."""

    class Ticked:
        count, error = 0, None

        def __call__(self) -> None:
            self.count += 1
            if self.error:
                raise self.error

    ticked = Ticked()
    monkeypatch.setattr(ticks, "_registered", {"test": ticked})
    # The library would close the connection that the test's own transaction lives in.
    monkeypatch.setattr(db_worker, "close_old_connections", lambda: None)
    return ticked


def work() -> None:
    """What a worker does between two pauses."""
    keep_ticking()
    ClinicWorker(worker_id="worker", interval=0).run()


def states() -> list[str]:
    return list(DBTaskResult.objects.order_by("enqueued_at").values_list("status", flat=True))


def test_a_worker_ticks_at_once_and_then_each_minute(clock, ticked):
    for seconds in (0, 30, 30, 30, 30):
        clock.shift(seconds)
        work()
        work()
    assert ticked.count == 3
    assert worker_silence() is None


def test_one_tick_waits_however_often_a_worker_looks(clock, ticked):
    work()
    for _ in range(3):
        keep_ticking()
    assert states().count(TaskResultStatus.READY) == 1


def test_what_a_killed_worker_left_running_keeps_nobody_back(clock, ticked):
    work()
    DBTaskResult.objects.update(status=TaskResultStatus.RUNNING)
    clock.shift(60)
    work()
    assert ticked.count == 2
    clock.shift(GIVEN_UP_AFTER + MINUTE)
    work()
    assert TaskResultStatus.RUNNING not in states()


def test_asked_for_by_somebody_it_ticks_at_once(clock, ticked, django_capture_on_commit_callbacks):
    work()
    with django_capture_on_commit_callbacks(execute=True):
        tick_now()
    work()
    assert ticked.count == 2


def test_a_tick_written_by_a_clock_that_was_wrong_keeps_nobody_back(clock, ticked):
    work()
    clock.shift(60)
    keep_ticking()
    DBTaskResult.objects.filter(status=TaskResultStatus.READY).update(
        run_after=timezone.now() + timedelta(days=400)
    )
    work()
    assert ticked.count == 2


def test_a_tick_that_fails_keeps_no_other_back_and_tells_no_words(ticked, caplog):
    ticked.error = ValueError("Ann Example")
    other = []
    ticks.register("other", lambda: other.append(1))
    with pytest.raises(TickFailed) as failure:
        run_all()
    assert other == [1]
    assert str(failure.value) == "Failed: test."
    assert "Ann" not in caplog.records[0].getMessage()


def test_a_failed_tick_is_followed_by_the_next(clock, ticked):
    ticked.error = ValueError("Ann Example")
    work()
    clock.shift(60)
    work()
    assert ticked.count == 2
    assert "Ann" not in "".join(DBTaskResult.objects.values_list("traceback", flat=True))


def test_old_ticks_are_thrown_away(clock, ticked):
    work()
    clock.shift(KEPT_FOR + MINUTE)
    work()
    assert len(states()) <= 2


def test_a_worker_never_seen_or_not_seen_for_long_is_told(clock):
    assert worker_silence().since is None
    assert "has never been seen" in worker_silence().text
    WorkerSeen.objects.create(seen_at=timezone.now() - 5 * MINUTE)
    assert worker_silence() is None
    clock.shift(1)
    assert worker_silence().text.startswith("Last seen on Tuesday 1 December at 09:55.")


def test_asked_to_stop_twice_a_worker_still_ends_what_it_is_doing():
    worker = ClinicWorker(worker_id="worker", interval=0)
    worker.running_task = True
    try:
        for _ in range(2):
            worker.shutdown(signal.SIGTERM, None)
        assert (worker.running, ticks.stopping.is_set()) == (False, True)
    finally:
        ticks.stopping.clear()
