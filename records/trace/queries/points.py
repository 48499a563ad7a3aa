"""
From a lot to every patient, session, point and amount.

The cost follows the answer, not the clinic: the lot's units, then the index on point(unit), then
primary keys. Rows come as plain tuples in the order of treatment and can be streamed.

The statement is the ORM's, written once and kept, and its rows are taken as the driver gives them:
for a lot of 200 points, writing the statement anew takes longer than running it, and turning each
value into what the ORM would give takes as long again (`make bench`).
"""

from collections.abc import Iterator
from datetime import UTC, datetime
from functools import cache
from typing import NamedTuple

from django.db.models import F, QuerySet

from clinic.database.streaming import streamed
from clinic.stock.enums import UnitState
from clinic.stock.models import Lot, UnitOfStock
from records.sessions.models import InjectionEntry


class TraceRow(NamedTuple):
    """One point of the lot; `amount` in the product's base unit."""

    patient_id: int
    record_number: str
    patient_name: str
    session_id: int
    stored_at: datetime
    injector: str
    number: int
    region: str
    side: str
    plane: str
    technique: str
    amount: int
    unit_label: str
    serial: str

    @property
    def treated_at(self) -> datetime:
        """When it was done. The driver of SQLite leaves out that the stored time is UTC."""
        return self.stored_at if self.stored_at.tzinfo else self.stored_at.replace(tzinfo=UTC)


TRACE_COLUMNS = (
    "session__patient_id",
    "session__patient__record_number",
    "session__patient__full_name",
    "session_id",
    "session__started_at",
    "session__injector__full_name",
    "number",
    "region",
    "side",
    "plane",
    "technique",
    "amount",
    "unit__label",
    "unit__serial",
)


def traced_points(lot: Lot) -> QuerySet[InjectionEntry, tuple]:
    """Every standing point of the lot, oldest treatment first, as tuples in `TraceRow` order."""
    return (
        InjectionEntry.objects.standing()
        .filter(unit__lot=lot)
        .order_by("session__started_at", "id")
        .values_list(*TRACE_COLUMNS)
    )


@cache
def _statement() -> str:
    """The SQL of `traced_points`; its one parameter is the lot's id."""
    statement, _ = traced_points(Lot(pk=0)).query.sql_with_params()
    return statement


def trace_rows(lot: Lot) -> Iterator[TraceRow]:
    """The points of the lot one by one, in constant memory."""
    return map(TraceRow._make, streamed(_statement(), [lot.pk]))


def units_still_here(lot: Lot) -> QuerySet[UnitOfStock]:
    """Units in the stock or opened with something left, for pulling."""
    return (
        lot.units.filter(state__in=[UnitState.IN_STOCK, UnitState.OPENED])
        .filter(content__gt=F("drawn") + F("wasted"))
        .order_by("state", "id")
    )
