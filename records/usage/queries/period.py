"""The stretch of days an audit looks at."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Case, IntegerField, QuerySet, Value, When
from django.db.models.expressions import Combinable

from clinic.stock.enums import MovementKind
from clinic.stock.models import StockMovement
from records.appointments.models import start_of
from records.sessions.models import InjectionEntry, Opening


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

    @property
    def openings(self) -> QuerySet[Opening]:
        """Every unit opened in a session of these days."""
        return Opening.objects.filter(
            **self.within("session__started_at"), **self.of_product("unit__lot__product")
        )

    @property
    def wastes(self) -> QuerySet[StockMovement]:
        """Every row of the ledger by which something was thrown away on these days."""
        return self.movements(MovementKind.WASTED)

    def movements(self, kind: MovementKind) -> QuerySet[StockMovement]:
        return StockMovement.objects.filter(
            kind=kind, **self.within("at"), **self.of_product("unit__lot__product")
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

    def month_of(self, field: str) -> Case:
        """Which of `months` a time lies in, counted from 0, as the clinic's calendar has it."""
        ends = list(self.months())[1:]
        before = [
            When(**{f"{field}__lt": start_of(day)}, then=Value(number))
            for number, day in enumerate(ends)
        ]
        return Case(*before, default=Value(len(ends)), output_field=IntegerField())


def grouped(rows: QuerySet, keys: Iterable[str | Combinable], *sums: Any) -> QuerySet[Any, Any]:
    """Tuples: the keys, names of columns or expressions, then the sums over each group."""
    named = {f"key{number}": key for number, key in enumerate(keys) if not isinstance(key, str)}
    names = [key if isinstance(key, str) else f"key{number}" for number, key in enumerate(keys)]
    annotated = {f"sum{number}": each for number, each in enumerate(sums)}
    return (
        rows.order_by()
        .annotate(**named)
        .values(*names)
        .annotate(**annotated)
        .values_list(*names, *annotated)
    )
