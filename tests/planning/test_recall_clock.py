"""
The stopwatch of a recall. Durations are reckoned by hand, with calendar arithmetic alone.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planning.recall_clock import RecallClockError, in_words, stopwatch

NOTICE = datetime(2026, 11, 20, 16, 0, tzinfo=UTC)


def after(**duration: int) -> datetime:
    return NOTICE + timedelta(**duration)


@pytest.mark.parametrize(
    ("duration", "words"),
    [
        ({}, "0 s"),
        ({"seconds": 59, "milliseconds": 999}, "59 s"),  # cut, so that no step looks later
        ({"minutes": 1}, "1 min 0 s"),
        ({"minutes": 38, "seconds": 12}, "38 min 12 s"),
        ({"hours": 1}, "1 h 0 min"),
        ({"hours": 23, "minutes": 59, "seconds": 59}, "23 h 59 min"),
        ({"days": 1}, "1 day 0 h"),
        ({"days": 3, "hours": 4, "minutes": 59}, "3 days 4 h"),
        ({"days": 400}, "400 days 0 h"),
    ],
)
def test_a_duration_is_told_by_its_two_largest_parts(duration, words):
    assert in_words(timedelta(**duration)) == words


def test_steps_that_are_done_stand_and_the_others_run():
    laps = stopwatch(NOTICE, after(hours=2), stopped_at=after(minutes=20))
    assert [(lap.label, lap.words, lap.is_done, lap.is_running) for lap in laps] == [
        ("Stock stopped", "20 min 0 s", True, False),
        ("Call list complete", "2 h 0 min", False, True),
        ("Everybody reached", "2 h 0 min", False, True),
    ]


def test_a_step_never_done_ends_with_the_case():
    laps = stopwatch(NOTICE, after(days=9), listed_at=after(hours=1), closed_at=after(days=2))
    assert [(lap.words, lap.is_done, lap.is_running) for lap in laps] == [
        ("2 days 0 h", False, False),
        ("1 h 0 min", True, False),
        ("2 days 0 h", False, False),
    ]


def test_a_drill_stops_with_the_complete_call_list():
    laps = stopwatch(NOTICE, after(hours=2), listed_at=after(minutes=14), is_drill=True)
    assert [(lap.label, lap.words) for lap in laps] == [("Call list complete", "14 min 0 s")]


def test_clocks_that_change_do_not_change_a_duration():
    """Summer time ends at 01:00 UTC on 25 October 2026 (Directive 2000/84/EC, last Sunday)."""
    evening = datetime(2026, 10, 24, 23, 0, tzinfo=ZoneInfo("Europe/London"))
    morning = datetime(2026, 10, 25, 8, 0, tzinfo=UTC)
    [lap] = stopwatch(evening, morning, is_drill=True)
    assert lap.words == "10 h 0 min"


def test_a_step_before_the_notice_is_refused():
    with pytest.raises(RecallClockError):
        stopwatch(NOTICE, after(hours=1), stopped_at=after(minutes=-1))
