"""
Quiet hours by the clock on the wall.

The clocks of London go forward on 29 March 2026 at 01:00 GMT and back on 25 October 2026 at 01:00
GMT (Summer Time Act 1972, as amended by the Summer Time Order 2002).
"""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.quiet_hours import (
    BEFORE_QUIET,
    QuietHours,
    before_quiet,
    is_quiet,
    not_quiet_from,
    reminder_time,
)

LONDON = ZoneInfo("Europe/London")
NIGHT = QuietHours(time(20), time(8))
NOON = QuietHours(time(12), time(14))
NONE = QuietHours(time(9), time(9))


def at(text: str, fold: int = 0) -> datetime:
    """
    A moment by the clock in London, given in UTC: one of an hour that is shown twice equals no
    other moment (PEP 495).
    """
    return datetime.fromisoformat(text).replace(tzinfo=LONDON, fold=fold).astimezone(UTC)


@pytest.mark.parametrize(
    ("quiet", "clock", "holds"),
    [
        (NIGHT, time(19, 59), False),
        (NIGHT, time(20), True),
        (NIGHT, time(0), True),
        (NIGHT, time(7, 59), True),
        (NIGHT, time(8), False),
        (NOON, time(11, 59), False),
        (NOON, time(12), True),
        (NOON, time(14), False),
        (NONE, time(9), False),
        (NONE, time(3), False),
    ],
)
def test_the_clock_decides(quiet, clock, holds):
    assert quiet.holds(clock) is holds


@pytest.mark.parametrize(
    ("wanted", "sent"),
    [
        ("2026-12-01 10:00", "2026-12-01 10:00"),
        ("2026-12-01 20:00", "2026-12-02 08:00"),
        ("2026-12-02 03:00", "2026-12-02 08:00"),
        # Over the night of either change it is eight by the clock, not twelve hours later.
        ("2026-03-28 20:00", "2026-03-29 08:00"),
        ("2026-10-24 20:00", "2026-10-25 08:00"),
    ],
)
def test_what_falls_into_the_night_waits_for_the_morning(wanted, sent):
    assert not_quiet_from(at(wanted), NIGHT, LONDON) == at(sent)


@pytest.mark.parametrize(("evening", "hours"), [("2026-03-28 20:00", 11), ("2026-10-24 20:00", 13)])
def test_a_night_of_the_change_is_an_hour_shorter_or_longer(evening, hours):
    waited = not_quiet_from(at(evening), NIGHT, LONDON) - at(evening)
    assert waited == timedelta(hours=hours)


def test_quiet_hours_that_end_in_the_hour_shown_twice_end_twice():
    early = QuietHours(time(20), time(1, 30))
    first = at("2026-10-25 01:10")
    second = at("2026-10-25 01:10", fold=1)
    assert not_quiet_from(first, early, LONDON) == at("2026-10-25 01:30")
    assert not_quiet_from(second, early, LONDON) == at("2026-10-25 01:30", fold=1)


def test_quiet_hours_that_end_in_the_hour_leapt_over_end_when_it_has_been():
    early = QuietHours(time(20), time(1, 30))
    ends = not_quiet_from(at("2026-03-29 00:30"), early, LONDON)
    assert ends.astimezone(LONDON).time() == time(2, 30)


@pytest.mark.parametrize(
    ("starts", "hours", "sent"),
    [
        ("2026-12-02 10:00", 24, "2026-12-01 10:00"),
        ("2026-12-02 07:30", 24, "2026-12-01 08:00"),  # later, if that comes in time
        ("2026-12-02 21:30", 24, "2026-12-02 08:00"),
        ("2026-12-02 07:45", 2, "2026-12-01 19:45"),  # eight o'clock would be too late
        # A day before is the same hour of the clock only where the clock did not change.
        ("2026-03-29 10:00", 24, "2026-03-28 09:00"),
    ],
)
def test_a_reminder_comes_in_time_and_not_at_night(starts, hours, sent):
    assert reminder_time(at(starts), timedelta(hours=hours), NIGHT, LONDON) == at(sent)


@given(
    st.timedeltas(timedelta(0), timedelta(days=700)),
    st.builds(
        QuietHours,
        st.times().map(lambda one: one.replace(second=0, microsecond=0)),
        st.times().map(lambda one: one.replace(second=0, microsecond=0)),
    ),
)
def test_the_next_good_moment_is_never_quiet_nor_past(since, quiet):
    moment = datetime(2026, 1, 1, tzinfo=UTC) + since
    following = not_quiet_from(moment, quiet, LONDON)
    assert not is_quiet(following, quiet, LONDON)
    assert moment <= following <= moment + timedelta(hours=25)


def test_before_the_night_is_a_quarter_of_an_hour_before_it():
    assert (
        before_quiet(at("2026-12-02 03:00"), NIGHT, LONDON) == at("2026-12-01 20:00") - BEFORE_QUIET
    )
    assert before_quiet(at("2026-12-02 12:00"), NIGHT, LONDON) == at("2026-12-02 12:00")


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="no time zone"):
        is_quiet(datetime(2026, 12, 1, 12), NIGHT, LONDON)  # noqa: DTZ001
