"""
From what a notice names to lots, units and points.

A lot that is named exactly, or lies inside a range, is reached. One that cannot be compared with a
range is held with the others until a person has compared it, and nobody is called for it before.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from django.db.models import Q, QuerySet

from clinic.products.models import Product
from clinic.quarantine.queries import lot_verdict, serial_verdict
from clinic.stock.models import Lot, UnitOfStock, UnitQuerySet
from planning.code_ranges import Within
from planning.vocabulary import ProductKind
from records.occlusions.models import OcclusionEntry
from records.occlusions.queries import doses_of
from records.recalls.models import CaseSpan, RecallCase
from records.sessions.models import InjectionEntry


class NumberedLot(NamedTuple):
    """As much of a lot as is needed to find its units and to name it."""

    pk: int
    number: str


@dataclass(frozen=True)
class SpanReach:
    """One span of the notice, and which lots of its product it reaches or may reach."""

    span: CaseSpan
    lots: tuple[NumberedLot, ...]
    unclear: tuple[NumberedLot, ...]

    @property
    def was_never_here(self) -> bool:
        return not self.lots and not self.unclear

    @cached_property
    def lot_ids(self) -> frozenset[int]:
        return frozenset(lot.pk for lot in self.lots)


@dataclass(frozen=True)
class Extent:
    """
    What a case reaches.

    Attributes:
        spans: with the lots that each reaches.
        by_serial: ids of the units that spans by serial number reach.
        unsure: how many of those have no serial number, or one that cannot be compared with the
            notice; they count as affected.
    """

    spans: tuple[SpanReach, ...]
    by_serial: frozenset[int] = frozenset()
    unsure: int = 0

    @cached_property
    def lot_ids(self) -> frozenset[int]:
        """Lots that are reached, if only some of their units are."""
        return frozenset().union(*(reach.lot_ids for reach in self.spans))

    @cached_property
    def _whole_lots(self) -> frozenset[int]:
        whole = (reach for reach in self.spans if not reach.span.is_by_serial)
        return frozenset().union(*(reach.lot_ids for reach in whole))

    def units(self) -> UnitQuerySet:
        """Every unit that was ever received of it."""
        reached = Q(lot__in=self._whole_lots)
        if self.by_serial:
            reached |= Q(pk__in=self.by_serial)
        return UnitOfStock.objects.filter(reached)

    def points(self) -> QuerySet[InjectionEntry]:
        """Every standing point drawn from one of those units; the database goes by the units."""
        standing = InjectionEntry.objects.standing()
        if self.by_serial:
            return standing.filter(unit__in=self.units().order_by().values("pk"))
        return standing.filter(unit__lot__in=self._whole_lots)

    @cached_property
    def doses(self) -> list[OcclusionEntry]:
        """
        Hyaluronidase of it that was given in an occlusion log; asked for only where it is recalled.

        A lot that was typed without its unit counts as affected, as a unit without a number does.
        """
        kinds = {reach.span.product.kind for reach in self.spans}
        if ProductKind.HYALURONIDASE not in kinds:
            return []
        reached = self.units().order_by().values("pk")
        return list(doses_of(self.lot_ids).filter(Q(unit__isnull=True) | Q(unit__in=reached)))

    def product_of(self, dose: OcclusionEntry) -> Product:
        """Of one of `doses`; of a lot that was only typed, the product that has the number."""
        if dose.unit:
            return dose.unit.lot.product
        return next(
            reach.span.product
            for reach in self.spans
            if reach.span.product.kind == ProductKind.HYALURONIDASE
            and dose.lot in {lot.number for lot in reach.lots}
        )


def extent_of(case: RecallCase) -> Extent:
    """What the case reaches, in two queries, or three if it names serial numbers."""
    spans = case.spans.select_related("product", "quarantine__lifted_by").order_by("id")
    lots: dict[int, list[NumberedLot]] = {span.product_id: [] for span in spans}
    rows = Lot.objects.filter(product__in=lots).order_by("number", "id")
    for product, pk, number in rows.values_list("product_id", "pk", "number"):
        lots[product].append(NumberedLot(pk, number))
    return _with_serials(tuple(_reach(span, lots[span.product_id]) for span in spans))


def _reach(span: CaseSpan, lots: Iterable[NumberedLot]) -> SpanReach:
    """A single lot is meant exactly: what only looks like it is asked about by itself."""
    quarantine = span.as_quarantine()
    verdicts = [(lot, lot_verdict(quarantine, lot.number)) for lot in lots]
    return SpanReach(
        span,
        lots=tuple(lot for lot, verdict in verdicts if verdict is Within.INSIDE),
        unclear=tuple(lot for lot, verdict in verdicts if verdict is Within.UNCLEAR),
    )


def _with_serials(spans: tuple[SpanReach, ...]) -> Extent:
    """Units are looked at one by one only where the notice names serial numbers."""
    by_serial = [(reach, reach.span.as_quarantine()) for reach in spans if reach.span.is_by_serial]
    lots = frozenset().union(*(reach.lot_ids for reach, _ in by_serial))
    if not lots:
        return Extent(spans)
    found, sure = set(), set()
    for pk, lot_id, serial in UnitOfStock.objects.filter(lot__in=lots).values_list(
        "pk", "lot_id", "serial"
    ):
        for reach, quarantine in by_serial:
            verdict = serial_verdict(quarantine, serial)
            if lot_id in reach.lot_ids and verdict is not Within.OUTSIDE:
                found.add(pk)
                if verdict is Within.INSIDE:
                    sure.add(pk)
    return Extent(spans, frozenset(found), len(found - sure))
