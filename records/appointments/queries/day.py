"""Whom an appointment can be booked with, and whether a time can be meant."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from dateutil.relativedelta import relativedelta
from django.db.models import QuerySet
from django.utils import timezone

from clinic.staff.models import User
from planning.booking_advice import Advice
from planning.review_dates import OpenDays


def practitioners() -> QuerySet[User]:
    """Whom an appointment can be booked with."""
    return User.objects.filter(is_injector=True, is_active=True)


def day_advice(day: date, days: OpenDays, *, today: date) -> Iterator[Advice]:
    """What should be confirmed before booking on `day`, of a clinic that opens on `days`."""
    if day < today:
        yield Advice("caution", "That day has passed", "", "Today's date")
    if day > today + relativedelta(years=1):
        title = f"{day:%A} {day.day} {day:%B %Y} is more than a year from now"
        yield Advice("caution", title, "Please check the year.", "Common practice, no source")
    if not days.is_open(day):
        yield Advice(
            "caution",
            f"The clinic is closed on {day:%A} {day.day} {day:%B %Y}",
            "",
            "Clinic policy: opening days and closures",
        )


def midnight_advice(starts_at: datetime, minutes: int) -> Iterator[Advice]:
    """Whether an appointment ends on another day than it starts: often a slip of the keys."""
    starts = timezone.localtime(starts_at)
    ends = timezone.localtime(starts_at + timedelta(minutes=minutes))
    if ends.date() > starts.date():
        title = f"It would end after midnight, on {ends:%A} at {ends:%H:%M}"
        yield Advice("caution", title, "Please check the time.", "Common practice, no source")
