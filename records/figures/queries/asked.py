"""What a report is asked: the days, those before, and the months that are drawn."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from itertools import takewhile
from typing import Any

from django.db.models import Case, IntegerField, Value, When

from planning.stretches import YEAR_MONTHS, Span, Stretch, around, latest, months_after
from records.appointments.models import start_of
from records.figures.enums import GroupBy

NEITHER, NOW, BEFORE = 0, 1, 2
Bucket = int | date
"""NOW, BEFORE, or the first day of a month that is drawn."""

MOST_DAYS = 1_096
"""Three years, as the other reports of the owner."""


@dataclass(frozen=True)
class Asked:
    """
    Attributes:
        stretch: the days as they were chosen; what is still to come is not counted (`days`).
        person_id: the only practitioner who counts; None for all.
    """

    stretch: Stretch
    today: date
    by: GroupBy = GroupBy.PRACTITIONER
    person_id: int | None = None

    @property
    def days(self) -> Stretch:
        """The chosen days up to today."""
        return replace(self.stretch, last=min(self.stretch.last, self.today))

    @property
    def before(self) -> Stretch:
        return self.stretch.before()

    @property
    def is_running(self) -> bool:
        """Whether days of it are still to come."""
        return self.stretch.last > self.today

    @cached_property
    def months(self) -> list[Stretch]:
        """At least the last twelve up to the chosen days, and every month of these."""
        last = around(self.days.last, Span.MONTH)
        first = min(months_after(last.first, 1 - YEAR_MONTHS), self.days.first.replace(day=1))
        wanted = takewhile(lambda month: month.first >= first, latest(last.first, Span.MONTH, 60))
        return list(wanted)[::-1]

    @property
    def first(self) -> date:
        """The first day of anything that is counted."""
        return min(self.months[0].first, self.before.first)

    @property
    def last(self) -> date:
        return self.days.last

    def within(self, field: str, *, until: datetime | None = None) -> dict[str, Any]:
        """Conditions: a time from the first to the last day that is counted, and before `until`."""
        following = start_of(self.last + timedelta(days=1))
        end = min(following, until) if until else following
        return {f"{field}__gte": start_of(self.first), f"{field}__lt": end}

    def window_of(self, field: str) -> Case:
        """NOW, BEFORE or NEITHER for a time."""
        return Case(
            *(
                When(
                    **{
                        f"{field}__gte": start_of(days.first),
                        f"{field}__lt": start_of(days.last + timedelta(days=1)),
                    },
                    then=Value(window),
                )
                for window, days in ((NOW, self.days), (BEFORE, self.before))
            ),
            default=Value(NEITHER),
            output_field=IntegerField(),
        )

    def month_of(self, field: str) -> Case:
        """Which of `months` a time lies in, counted from 0; -1 before them."""
        return Case(
            *(
                When(**{f"{field}__lt": start_of(month.first)}, then=Value(number - 1))
                for number, month in enumerate(self.months)
            ),
            default=Value(len(self.months) - 1),
            output_field=IntegerField(),
        )

    @cached_property
    def buckets(self) -> dict[date, tuple[Bucket, ...]]:
        """Where each day counts: among the chosen ones or those before, and in its month."""
        days = (self.first + timedelta(days=number) for number in range(_days(self)))
        windows = ((NOW, self.days), (BEFORE, self.before))
        drawn_from = self.months[0].first
        return {
            day: (
                *(window for window, within in windows if within.first <= day <= within.last),
                *([day.replace(day=1)] if day >= drawn_from else []),
            )
            for day in days
        }


def _days(asked: Asked) -> int:
    return (asked.last - asked.first).days + 1
