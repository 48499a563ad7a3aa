"""The stretch of days an audit looks at."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import QuerySet

from records.appointments.models import start_of
from records.sessions.models import InjectionEntry


@dataclass(frozen=True)
class Period:
    """Days of the clinic's own calendar, both ends included; of one product or of all."""

    first: date
    last: date
    product_id: int | None = None

    @property
    def moments(self) -> tuple[datetime, datetime]:
        """From the first moment of the first day to that of the day after the last."""
        return start_of(self.first), start_of(self.last + timedelta(days=1))

    @property
    def points(self) -> QuerySet[InjectionEntry]:
        """Every standing point of a session of these days."""
        return InjectionEntry.objects.standing().filter(
            **self.within("session__started_at"), **self.of_product("unit__lot__product")
        )

    def within(self, field: str) -> dict[str, Any]:
        """Conditions: a time of these days."""
        begins, ends = self.moments
        return {f"{field}__gte": begins, f"{field}__lt": ends}

    def of_product(self, field: str) -> dict[str, Any]:
        """Conditions: the product, if one is asked for."""
        return {field: self.product_id} if self.product_id else {}

    def months(self) -> Iterator[date]:
        """The first day of each calendar month that the period touches, the earliest first."""
        month = self.first.replace(day=1)
        while month <= self.last:
            yield month
            month = (month + timedelta(days=31)).replace(day=1)
