"""
When a review falls due: the clinic's interval, counted from the session and rolled to an open day.

An interval is always counted from the session itself, never from an earlier review: months clip at
the end of the month (31 January + 1 month = 28 February), so counting on from a clipped date would
drift.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import Enum

from dateutil.relativedelta import relativedelta

from planning.public_holidays import HolidayCalendar

SEARCH_DAYS = 366
CLOSED = "when the clinic is closed"


class ReviewDateError(ValueError):
    """A rule or a date that cannot be computed."""


class NoOpenDayError(ReviewDateError):
    """No open day within a year: the clinic's hours or closures are wrong."""


class IntervalUnit(Enum):
    DAY = "day"
    WEEK = "week"
    MONTH = "month"


@dataclass(frozen=True, slots=True)
class Interval:
    """A stretch of calendar time, such as 14 days or 3 months. 90 days is not 3 months."""

    count: int
    unit: IntervalUnit

    def __post_init__(self) -> None:
        if self.count <= 0:
            raise ReviewDateError("The interval must be at least 1.")

    def after(self, start: date) -> date:
        """The date this long after `start`; month ends are clipped."""
        try:
            match self.unit:
                case IntervalUnit.DAY:
                    return start + timedelta(days=self.count)
                case IntervalUnit.WEEK:
                    return start + timedelta(weeks=self.count)
                case IntervalUnit.MONTH:
                    return start + relativedelta(months=self.count)
        except (OverflowError, ValueError) as error:
            raise ReviewDateError(f"{self} after {start} lies beyond the calendar.") from error

    @property
    def shortest_days(self) -> int:
        """The fewest days it may last, whenever it begins: 28 for a month."""
        first = date(2025, 1, 1)
        starts = (first + timedelta(days=offset) for offset in range(365))
        return min((self.after(start) - start).days for start in starts)

    def __str__(self) -> str:
        return f"{self.count} {self.unit.value}{'' if self.count == 1 else 's'}"


class Roll(Enum):
    """Where a date moves that falls on a closed day."""

    FOLLOWING = "the next open day"
    PRECEDING = "the open day before"
    MODIFIED_FOLLOWING = "the next open day, or the one before if that is in another month"


@dataclass(frozen=True, slots=True)
class OpenDays:
    """
    Weekdays the clinic opens (Monday 0 to Sunday 6) less the dates it is closed.

    Attributes:
        closures: the clinic's own.
        reasons: why the clinic is closed, of those closures that say it.
        holidays: the public holidays it keeps; None for none.
    """

    open_weekdays: frozenset[int]
    closures: frozenset[date] = field(default_factory=frozenset)
    reasons: Mapping[date, str] = field(default_factory=dict, hash=False)
    holidays: HolidayCalendar | None = None

    def __post_init__(self) -> None:
        if not self.open_weekdays <= set(range(7)):
            raise ReviewDateError("A weekday is a number from 0 (Monday) to 6 (Sunday).")

    def is_open(self, day: date) -> bool:
        return (
            day.weekday() in self.open_weekdays
            and day not in self.closures
            and not self._holiday(day)
        )

    def why_closed(self, day: date) -> str:
        """What keeps the clinic closed: "Christmas Day", or a closure's reason; "" if none says."""
        return self._holiday(day) or self.reasons.get(day, "")

    def closed_in_words(self, day: date) -> str:
        """ "The clinic is closed on Friday 25 December 2026 (Christmas Day)"."""
        why = self.why_closed(day)
        return f"The clinic is closed on {day_in_words(day)}{f' ({why})' if why else ''}"

    def _holiday(self, day: date) -> str:
        return self.holidays.name_of(day) if self.holidays else ""


@dataclass(frozen=True, slots=True)
class ReviewRule:
    """
    The clinic's rule for one kind of review.

    The window is given in days around the unrolled date: earliest_offset_days <= 0 <=
    latest_offset_days.
    """

    interval: Interval
    earliest_offset_days: int = 0
    latest_offset_days: int = 0
    roll: Roll = Roll.FOLLOWING

    def __post_init__(self) -> None:
        if not self.earliest_offset_days <= 0 <= self.latest_offset_days:
            raise ReviewDateError(
                "The window must begin on or before the review date and end on or after it."
            )


@dataclass(frozen=True, slots=True)
class ReviewDates:
    """
    The window of a review. `shifted_from` is the date before rolling, None if it did not move.
    """

    earliest: date
    target: date
    latest: date
    shifted_from: date | None
    reason: str


class ReviewState(Enum):
    """
    Where an open review stands. Booked, done and excused are facts the record holds, not computed
    here.
    """

    PLANNED = "planned"
    DUE = "due"
    OVERDUE = "overdue"


def next_open_day(day: date, is_open: Callable[[date], bool], *, step: int = 1) -> date:
    """
    The day itself if open, otherwise the nearest open day after it (step 1) or before it (step -1).

    Raises:
        NoOpenDayError: none within 366 days.
    """
    for offset in range(SEARCH_DAYS + 1):
        try:
            candidate = day + timedelta(days=step * offset)
        except OverflowError:
            break
        if is_open(candidate):
            return candidate
    raise NoOpenDayError(
        f"No open day within {SEARCH_DAYS} days of {day}: "
        "check the clinic's opening days and closures."
    )


def roll_to_open_day(day: date, roll: Roll, is_open: Callable[[date], bool]) -> date:
    """
    `day` moved by the business-day convention `roll`; an open day stays. Raises NoOpenDayError.
    """
    if roll is Roll.PRECEDING:
        return next_open_day(day, is_open, step=-1)
    following = next_open_day(day, is_open)
    left_month = (following.year, following.month) != (day.year, day.month)
    if roll is Roll.MODIFIED_FOLLOWING and left_month:
        return next_open_day(day, is_open, step=-1)
    return following


def review_date(
    session_date: date,
    rule: ReviewRule,
    is_open: Callable[[date], bool],
    *,
    why_closed: Callable[[date], str] = lambda day: "",
    since: str = "the session",
) -> ReviewDates:
    """
    The review's window and target for a session.

    Args:
        why_closed: why the clinic is not open on a day, for the reason; "" for no more than that.
        since: what the interval is counted from, in words.

    A roll backwards that would reach the session day or earlier goes forwards instead, and the
    window is widened if the roll leaves it, so that earliest <= target <= latest and session_date <
    target.

    Raises:
        NoOpenDayError: no open day within 366 days.
        ReviewDateError: beyond the calendar.
    """
    nominal = rule.interval.after(session_date)
    target = roll_to_open_day(nominal, rule.roll, is_open)
    if target <= session_date:
        target = next_open_day(nominal, is_open)
    try:
        earliest = nominal + timedelta(days=rule.earliest_offset_days)
        latest = nominal + timedelta(days=rule.latest_offset_days)
    except OverflowError as error:
        raise ReviewDateError(
            f"The review window around {nominal} lies beyond the calendar."
        ) from error
    moved = target != nominal
    reason = f"{rule.interval} after {since}"
    if moved:
        reason += f", moved from {day_in_words(nominal)}, {why_closed(nominal) or CLOSED}"
    return ReviewDates(
        earliest=min(max(earliest, session_date), target),
        target=target,
        latest=max(latest, target),
        shifted_from=nominal if moved else None,
        reason=reason,
    )


def day_in_words(day: date) -> str:
    """ "Friday 25 December 2026"."""
    return f"{day:%A} {day.day} {day:%B} {day.year}"


def state_on(on: date, *, target: date, latest: date) -> ReviewState:
    """Planned before the target day, due from it to the latest day inclusive, overdue after."""
    if on < target:
        return ReviewState.PLANNED
    return ReviewState.DUE if on <= latest else ReviewState.OVERDUE


def first_day_within(today: date, window: Interval) -> date:
    """
    First day of a rolling window that ends today, for queries "on or after".

    A day d is inside while d + window > today: what is exactly one window old is outside.
    Subtracting the window from today would not do: 28 February less 3 months is 28 November, yet 30
    November + 3 months is also 28 February.
    """
    days = {IntervalUnit.DAY: 1, IntervalUnit.WEEK: 7, IntervalUnit.MONTH: 31}[
        window.unit
    ] * window.count
    day = max(date.min.toordinal(), today.toordinal() - days)
    while window.after(date.fromordinal(day)) <= today:
        day += 1
    return date.fromordinal(day)
