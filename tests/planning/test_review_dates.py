"""
Intervals, open days and review windows.

Expected dates: worked examples of python-dateutil 2.9 (months) and numpy 2.4 busday (conventions),
with Saturday, Sunday, 25 and 28 December 2026 and 1 January 2027 closed.
"""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from planning.review_dates import (
    Interval,
    IntervalUnit,
    NoOpenDayError,
    OpenDays,
    ReviewDateError,
    ReviewDates,
    ReviewRule,
    ReviewState,
    Roll,
    first_day_within,
    review_date,
    roll_to_open_day,
    state_on,
)

DAY, WEEK, MONTH = IntervalUnit.DAY, IntervalUnit.WEEK, IntervalUnit.MONTH
day = date.fromisoformat

WEEKDAYS = frozenset(range(5))
CLINIC = OpenDays(WEEKDAYS, frozenset({day("2026-12-25"), day("2026-12-28"), day("2027-01-01")}))
EVERY_DAY = OpenDays(frozenset(range(7)))

AFTER = [
    ("2026-01-31", 1, MONTH, "2026-02-28", "clipped"),
    ("2028-01-31", 1, MONTH, "2028-02-29", "leap year"),
    ("2026-01-30", 1, MONTH, "2026-02-28", "clipped"),
    ("2026-01-31", 2, MONTH, "2026-03-31", "not clipped"),
    ("2026-02-28", 1, MONTH, "2026-03-28", "chained from a clipped date: drifts"),
    ("2026-01-31", 3, MONTH, "2026-04-30", "clipped"),
    ("2026-08-31", 6, MONTH, "2027-02-28", "clipped, a Sunday"),
    ("2027-08-31", 6, MONTH, "2028-02-29", "clipped, leap year"),
    ("2026-11-30", 3, MONTH, "2027-02-28", "clipped"),
    ("2026-11-25", 3, MONTH, "2027-02-25", "3 months"),
    ("2026-11-25", 90, DAY, "2027-02-23", "90 days is not 3 months"),
    ("2026-12-01", 90, DAY, "2027-03-01", "here both agree"),
    ("2026-12-01", 3, MONTH, "2027-03-01", "here both agree"),
    ("2028-02-29", 12, MONTH, "2029-02-28", "a year after a leap day"),
    ("2028-02-29", 48, MONTH, "2032-02-29", "four years after a leap day"),
    ("2026-01-31", 2, WEEK, "2026-02-14", "a Saturday"),
    ("2026-01-31", 14, DAY, "2026-02-14", "the same in days"),
]


@pytest.mark.parametrize(("start", "count", "unit", "result", "why"), AFTER)
def test_an_interval_ends_where_dateutil_says(
    start: str, count: int, unit: IntervalUnit, result: str, why: str
) -> None:
    assert Interval(count, unit).after(day(start)) == day(result), why


@pytest.mark.parametrize("count", [0, -1])
def test_an_interval_runs_forwards(count: int) -> None:
    with pytest.raises(ReviewDateError):
        Interval(count, MONTH)


@pytest.mark.parametrize("unit", IntervalUnit)
def test_an_interval_beyond_the_calendar_is_refused(unit: IntervalUnit) -> None:
    with pytest.raises(ReviewDateError, match="beyond the calendar"):
        Interval(10**9, unit).after(day("2026-01-31"))


# By the calendar: 28 days from 1 February to 1 March, 59 from 1 January or 31 December.
@pytest.mark.parametrize(
    ("count", "unit", "days"),
    [(3, DAY, 3), (2, WEEK, 14), (1, MONTH, 28), (2, MONTH, 59), (12, MONTH, 365)],
)
def test_an_interval_lasts_at_least_so_many_days(count: int, unit: IntervalUnit, days: int) -> None:
    assert Interval(count, unit).shortest_days == days


def test_a_closed_day_is_named_with_its_reason_once() -> None:
    training = {day("2026-12-09"): "Staff training"}
    clinic = OpenDays(frozenset(range(5)), frozenset(training), training)
    assert clinic.closed_in_words(day("2026-12-09")) == (
        "The clinic is closed on Wednesday 9 December 2026 (Staff training)"
    )
    assert clinic.closed_in_words(day("2026-12-06")) == (
        "The clinic is closed on Sunday 6 December 2026"
    )


def test_an_interval_is_written_for_people() -> None:
    assert [str(Interval(1, MONTH)), str(Interval(14, DAY))] == ["1 month", "14 days"]


ROLLED = [
    ("2026-11-28", "2026-11-30", "2026-11-27", "2026-11-30"),
    ("2026-10-31", "2026-11-02", "2026-10-30", "2026-10-30"),
    ("2026-12-25", "2026-12-29", "2026-12-24", "2026-12-29"),
    ("2026-12-26", "2026-12-29", "2026-12-24", "2026-12-29"),
    ("2027-01-01", "2027-01-04", "2026-12-31", "2027-01-04"),
    ("2027-01-31", "2027-02-01", "2027-01-29", "2027-01-29"),
    ("2027-02-27", "2027-03-01", "2027-02-26", "2027-02-26"),
    ("2026-11-25", "2026-11-25", "2026-11-25", "2026-11-25"),  # open: stays
]


@pytest.mark.parametrize(("start", "following", "preceding", "modified"), ROLLED)
def test_a_closed_day_rolls_by_each_convention(
    start: str, following: str, preceding: str, modified: str
) -> None:
    rolls = (Roll.FOLLOWING, Roll.PRECEDING, Roll.MODIFIED_FOLLOWING)
    rolled = tuple(roll_to_open_day(day(start), roll, CLINIC.is_open) for roll in rolls)
    assert rolled == (day(following), day(preceding), day(modified))


@pytest.mark.parametrize("weekday", [-1, 7])
def test_weekdays_are_numbered_from_monday_0_to_sunday_6(weekday: int) -> None:
    with pytest.raises(ReviewDateError, match="from 0"):
        OpenDays(frozenset({weekday}))


@pytest.mark.parametrize("roll", Roll)
def test_a_clinic_that_never_opens_is_reported(roll: Roll) -> None:
    with pytest.raises(NoOpenDayError, match="opening days and closures"):
        roll_to_open_day(day("2026-11-25"), roll, OpenDays(frozenset()).is_open)


@pytest.mark.parametrize(("closed_days", "found"), [(366, True), (367, False)])
def test_the_search_ends_after_366_days(closed_days: int, found: bool) -> None:
    start = day("2026-01-01")
    closures = frozenset(start + timedelta(days=offset) for offset in range(closed_days))
    clinic = OpenDays(frozenset(range(7)), closures)
    if found:
        assert roll_to_open_day(start, Roll.FOLLOWING, clinic.is_open) == day("2027-01-02")
    else:
        with pytest.raises(NoOpenDayError):
            roll_to_open_day(start, Roll.FOLLOWING, clinic.is_open)


@pytest.mark.parametrize(("edge", "roll"), [(date.max, Roll.FOLLOWING), (date.min, Roll.PRECEDING)])
def test_the_search_ends_with_the_calendar(edge: date, roll: Roll) -> None:
    with pytest.raises(NoOpenDayError):
        roll_to_open_day(edge, roll, OpenDays(frozenset()).is_open)


def test_a_review_two_weeks_on_moves_from_saturday_to_monday() -> None:
    rule = ReviewRule(Interval(2, WEEK), earliest_offset_days=-3, latest_offset_days=7)
    assert review_date(day("2026-01-31"), rule, CLINIC.is_open) == ReviewDates(
        earliest=day("2026-02-11"),
        target=day("2026-02-16"),
        latest=day("2026-02-21"),
        shifted_from=day("2026-02-14"),
        reason="2 weeks after the session, moved from Saturday 14 February 2026, "
        "when the clinic is closed",
    )


def test_a_review_on_an_open_day_stays() -> None:
    dates = review_date(day("2026-11-11"), ReviewRule(Interval(14, DAY)), CLINIC.is_open)
    assert (dates.target, dates.shifted_from) == (day("2026-11-25"), None)
    assert dates.reason == "14 days after the session"


def test_a_window_of_no_days_stretches_to_the_rolled_day() -> None:
    dates = review_date(day("2026-01-31"), ReviewRule(Interval(14, DAY)), CLINIC.is_open)
    assert (dates.earliest, dates.latest) == (day("2026-02-14"), day("2026-02-16"))


def test_a_review_never_rolls_back_onto_its_session() -> None:
    # Friday session, review the next day: the open day before would be the session itself.
    rule = ReviewRule(Interval(1, DAY), roll=Roll.PRECEDING)
    assert review_date(day("2026-11-27"), rule, CLINIC.is_open).target == day("2026-11-30")


@pytest.mark.parametrize(("earliest", "latest"), [(1, 2), (-2, -1)])
def test_a_window_beside_its_date_is_refused(earliest: int, latest: int) -> None:
    with pytest.raises(ReviewDateError):
        ReviewRule(Interval(14, DAY), earliest, latest)


def test_a_window_beyond_the_calendar_is_refused() -> None:
    rule = ReviewRule(Interval(1, DAY), latest_offset_days=30)
    with pytest.raises(ReviewDateError):
        review_date(date.max - timedelta(days=2), rule, EVERY_DAY.is_open)


STATES = [
    ("2026-12-08", ReviewState.PLANNED),
    ("2026-12-09", ReviewState.DUE),
    ("2026-12-16", ReviewState.DUE),
    ("2026-12-17", ReviewState.OVERDUE),
]


@pytest.mark.parametrize(("on", "state"), STATES)
def test_a_review_is_due_from_its_date_to_the_end_of_its_window(
    on: str, state: ReviewState
) -> None:
    assert state_on(day(on), target=day("2026-12-09"), latest=day("2026-12-16")) is state


rules = st.builds(
    ReviewRule,
    st.builds(Interval, st.integers(1, 60), st.sampled_from(IntervalUnit)),
    st.integers(-30, 0),
    st.integers(0, 30),
    st.sampled_from(Roll),
)
clinics = st.builds(
    OpenDays,
    st.frozensets(st.integers(0, 6), min_size=1),
    st.frozensets(st.dates(date(2026, 1, 1), date(2028, 12, 31)), max_size=10),
)
sessions = st.dates(date(2026, 1, 1), date(2028, 12, 31))


@given(sessions, rules, clinics)
def test_a_review_is_on_an_open_day_after_the_session_and_in_its_window(
    session: date, rule: ReviewRule, clinic: OpenDays
) -> None:
    dates = review_date(session, rule, clinic.is_open)
    assert clinic.is_open(dates.target)
    assert session < dates.target
    assert session <= dates.earliest <= dates.target <= dates.latest
    assert (dates.shifted_from is None) == (dates.target == rule.interval.after(session))


WINDOWS = [
    # A day exactly one window old is outside.
    ("2026-11-25", 12, MONTH, "2025-11-26", "rolling year"),
    ("2029-02-28", 12, MONTH, "2028-03-01", "29 February 2028 + 1 year is today: outside"),
    ("2027-02-28", 3, MONTH, "2026-12-01", "28, 29 and 30 November + 3 months are all today"),
    ("2027-02-23", 90, DAY, "2026-11-26", "25 November + 90 days is today: outside"),
]


@pytest.mark.parametrize(("today", "count", "unit", "first", "why"), WINDOWS)
def test_the_first_day_within_a_rolling_window(
    today: str, count: int, unit: IntervalUnit, first: str, why: str
) -> None:
    assert first_day_within(day(today), Interval(count, unit)) == day(first), why


@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.integers(1, 24))
def test_a_window_of_months_agrees_with_dateutil_day_by_day(today: date, months: int) -> None:
    first = first_day_within(today, Interval(months, MONTH))
    assert first + relativedelta(months=months) > today
    assert first - timedelta(days=1) + relativedelta(months=months) <= today
