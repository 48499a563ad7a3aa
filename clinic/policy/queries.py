"""Reading the clinic's policy."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.policy.models import ClinicPolicy, Closure
from planning.public_holidays import HolidayCalendar
from planning.review_dates import (
    Interval,
    IntervalUnit,
    OpenDays,
    ReviewDates,
    ReviewRule,
    review_date,
)

OPENING = ("open_weekdays", "holiday_country", "holiday_part")
"""What of the policy tells on which days the clinic opens."""
# A review lies at most 400 months ahead and is rolled by at most a year; see ClinicPolicy.
_HORIZON = timedelta(days=400 * 31 + 366)


def current_policy(*, only: Sequence[str] = ()) -> ClinicPolicy:
    """
    The stored policy, or the defaults while nobody has saved one.

    Args:
        only: what of it is read, for who needs little of a wide row; all where none is named.
    """
    stored = ClinicPolicy.objects.filter(pk=1)
    return (stored.only(*only) if only else stored).first() or ClinicPolicy()


def open_days(policy: ClinicPolicy, *, on_or_after: date) -> OpenDays:
    """
    Open weekdays, less public holidays and each day of the closures not over by `on_or_after`.
    """
    closed: dict[date, str] = {}
    for closure in Closure.objects.filter(ends_on__gte=on_or_after):
        day = max(closure.starts_on, on_or_after)
        last = min(closure.ends_on, on_or_after + _HORIZON)
        while day <= last:
            closed[day] = closure.reason
            day += timedelta(days=1)
    weekdays = frozenset(day - 1 for day in policy.open_weekdays)
    return OpenDays(weekdays, frozenset(closed), closed, holidays_of(policy))


def holidays_of(policy: ClinicPolicy) -> HolidayCalendar | None:
    """The public holidays the clinic keeps, None if it keeps none."""
    if not policy.holiday_country:
        return None
    return HolidayCalendar(policy.holiday_country, policy.holiday_part)


@dataclass(frozen=True, slots=True)
class Holiday:
    """A public holiday the clinic keeps; `is_closed_anyway`: the weekday is no open one."""

    day: date
    name: str
    is_closed_anyway: bool


def holidays_ahead(policy: ClinicPolicy, today: date) -> list[Holiday]:
    """The public holidays the clinic keeps from `today` to the end of the next year."""
    calendar = holidays_of(policy)
    if calendar is None:
        return []
    listed = [*calendar.in_year(today.year), *calendar.in_year(today.year + 1)]
    return [
        Holiday(day, name, day.isoweekday() not in policy.open_weekdays)
        for day, name in listed
        if day >= today
    ]


def review_rule(policy: ClinicPolicy) -> ReviewRule:
    """The clinic's rule for the review after a treatment."""
    interval = Interval(policy.review_count, IntervalUnit(policy.review_unit))
    return ReviewRule(interval, latest_offset_days=policy.review_grace_days)


def review_example(policy: ClinicPolicy, treated_on: date) -> ReviewDates:
    """
    When a review falls due after a treatment on that day, by this policy.

    Raises:
        planning.review_dates.ReviewDateError: the clinic has no open day within a year.
    """
    days = open_days(policy, on_or_after=treated_on)
    rule = review_rule(policy)
    return review_date(treated_on, rule, days.is_open, why_closed=days.why_closed)
