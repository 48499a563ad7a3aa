"""
Finding lots by what is known of them, and how far each of them reached.

Conditions on the lot are looked up among lots, which are few, and points are counted for the lots
of one page by the index on point(unit). Conditions on the treatment go from the sessions of those
days (index on their start) to their points.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, NamedTuple, Self

from django.db.models import Count, QuerySet, Sum

from clinic.database.streaming import streamed
from clinic.staff.models import User
from clinic.stock.models import Lot
from planning.vocabulary import Measure, ProductKind
from records.appointments.models import start_of
from records.sessions.models import InjectionEntry
from records.trace.queries.points import TRACE_COLUMNS, TraceRow
from records.trace.queries.reach import TraceSummary, trace_summary

UNUSED = TraceSummary(0, 0, 0, 0)


@dataclass(frozen=True, kw_only=True)
class LotSearch:
    """
    What is known of the lots that are looked for; what is left out narrows nothing.

    `number` and `gtin` are compared exactly. Days are the clinic's own, both ends included; those
    of the treatment and the injector hold for each single point that is counted.
    """

    number: str = ""
    gtin: str = ""
    product_id: int | None = None
    maker: str = ""
    expires_from: date | None = None
    expires_to: date | None = None
    injector: User | None = None
    treated_from: date | None = None
    treated_to: date | None = None

    @property
    def is_by_treatment(self) -> bool:
        """Whether only a part of a lot's points may be meant."""
        return bool(self.injector or self.treated_from or self.treated_to)

    @property
    def lots(self) -> QuerySet[Lot]:
        """
        The lots, by product and number; by treatment only those of which a point fits.

        DISTINCT keeps PostgreSQL from asking lot by lot, through all of their points.
        """
        lots = Lot.objects.filter(**self._of_lot)
        if self.is_by_treatment:
            lots = lots.filter(pk__in=self.points.order_by().values("unit__lot_id").distinct())
        order = ("product__name", "product_id", "number", "id")
        return lots.select_related("product").order_by(*order)

    @property
    def points(self) -> QuerySet[InjectionEntry]:
        """Every standing point that fits."""
        of_lot = {f"unit__lot__{name}": value for name, value in self._of_lot.items()}
        of_session = {f"session__{name}": value for name, value in self._of_session.items()}
        return InjectionEntry.objects.standing().filter(**of_lot, **of_session)

    @property
    def _of_lot(self) -> dict[str, Any]:
        return _given(
            number=self.number,
            product=self.product_id,
            product__gtin=self.gtin,
            product__maker=self.maker,
            expires_on__gte=self.expires_from,
            expires_on__lte=self.expires_to,
        )

    @property
    def _of_session(self) -> dict[str, Any]:
        return _given(
            injector=self.injector,
            started_at__gte=self.treated_from and start_of(self.treated_from),
            started_at__lt=self.treated_to and start_of(self.treated_to + timedelta(days=1)),
        )


def _given(**conditions: Any) -> dict[str, Any]:
    return {name: value for name, value in conditions.items() if value not in (None, "")}


class FoundLot(NamedTuple):
    """A lot and its points that fit the search; whether another product has its number too."""

    lot: Lot
    reach: TraceSummary
    has_namesake: bool


def found_lots(search: LotSearch, ids: Sequence[int]) -> list[FoundLot]:
    """
    These lots of the search and how far each of them reached, in three queries for all.

    Of a lot of hyaluronidase its doses of occlusion logs count too, by queries of its own, unless
    only the points of some treatments are asked for.
    """
    by_id = Lot.objects.select_related("product").in_bulk(ids)
    lots = [by_id[pk] for pk in ids]
    counted = (
        search.points.filter(unit__lot__in=ids)
        .order_by()
        .values_list("unit__lot_id")
        .annotate(
            Count("session__patient_id", distinct=True),
            Count("session_id", distinct=True),
            Count("id"),
            Sum("amount"),
        )
    )
    reach = {lot_id: TraceSummary(*figures) for lot_id, *figures in counted}
    if not search.is_by_treatment:
        in_logs = [lot for lot in lots if lot.product.kind == ProductKind.HYALURONIDASE]
        reach |= {lot.pk: trace_summary(lot) for lot in in_logs}
    shared = set(
        Lot.objects.filter(number__in={lot.number for lot in lots})
        .order_by()
        .values_list("number", flat=True)
        .annotate(products=Count("id"))
        .filter(products__gt=1)
    )
    return [FoundLot(lot, reach.get(lot.pk, UNUSED), lot.number in shared) for lot in lots]


class LotHead(NamedTuple):
    """What each line of an export says of its lot."""

    product: str
    kind: str
    gtin: str | None
    number: str
    expires_on: date

    @classmethod
    def of(cls, lot: Lot) -> Self:
        product = lot.product
        return cls(product.name, product.kind, product.gtin, lot.number, lot.expires_on)

    @property
    def measure(self) -> Measure:
        return ProductKind(self.kind).measure


_HEAD = (
    "unit__lot__product__name",
    "unit__lot__product__kind",
    "unit__lot__product__gtin",
    "unit__lot__number",
    "unit__lot__expires_on",
)


def found_points(search: LotSearch) -> Iterator[tuple[LotHead, TraceRow]]:
    """Every point that fits, lot by lot as they are listed, streamed by one statement."""
    lot = ("unit__lot__product__name", "unit__lot__product_id", "unit__lot__number", "unit__lot_id")
    points = search.points.order_by(*lot, "session__started_at", "id")
    statement, parameters = points.values_list(*_HEAD, *TRACE_COLUMNS).query.sql_with_params()
    for row in streamed(statement, parameters):
        yield LotHead._make(row[: len(_HEAD)]), TraceRow._make(row[len(_HEAD) :])
