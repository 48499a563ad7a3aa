"""What a count expects, how far it is, and how it compares with the ledger."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from django.db.models import Count, Exists, IntegerField, Max, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from clinic.counts.enums import CountScope
from clinic.counts.models import CountDifference, CountedExtra, CountedUnit, StockCount
from clinic.places.models import Place
from clinic.products.models import Product
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from planning.stock_counts import Finding, Standing, Whereabouts, judge

_DRAWS = [MovementKind.DRAWN, MovementKind.UNDRAWN]
_IN_ORDER = (
    "place__site__name", "place__name", "lot__product__name", "lot__product_id", "lot__expires_on",
    "lot_id", "id",
)  # fmt: skip


@dataclass(frozen=True)
class Progress:
    """
    Attributes:
        seen, expected: of the units that lie here by the ledger, now.
        unexpected: seen besides.
        extras: what is in nobody's books, in units.
        mark: changes whenever one of the figures, or what stands behind it, does.
    """

    seen: int
    expected: int
    unexpected: int
    extras: int
    mark: str


@dataclass(frozen=True)
class LotHere:
    """Units of one lot that lie in one place by the ledger, each with `is_seen`."""

    units: list[UnitOfStock]

    @property
    def lot(self) -> Lot:
        return self.units[0].lot

    @property
    def place(self) -> Place | None:
        return self.units[0].place

    @property
    def seen(self) -> int:
        return sum(unit.is_seen for unit in self.units)  # type: ignore[attr-defined]


@dataclass(frozen=True)
class Line:
    """One unit in a comparison; `seen` is None where nobody saw it."""

    unit: UnitOfStock
    finding: Finding
    seen: CountedUnit | None


@dataclass(frozen=True)
class ExtraLine:
    """
    Something in nobody's books, as it stands now.

    Attributes:
        product: by the line, or by its GTIN if the product was added meanwhile.
        problem: why it cannot be received yet, and what to do; or "".
    """

    extra: CountedExtra
    product: Product | None
    problem: str


@dataclass(frozen=True)
class Comparison:
    """`passed_over`: units of which something is to be said, although they are no difference."""

    differences: list[Line]
    extras: list[ExtraLine]
    agreed: int
    passed_over: list[Line]

    @property
    def has_differences(self) -> bool:
        return bool(self.differences or self.extras)


@dataclass
class LotResult:
    """What a posted count found of one lot, in units."""

    lot: Lot
    seen: int = 0
    missing: int = 0
    moved: int = 0
    found: int = 0
    new: int = 0


def counts_with_figures() -> QuerySet[StockCount]:
    """The newest first, each with `units_seen` and `units_differing`."""
    people = ("place__site", "started_by", "posted_by", "given_up_by")
    return StockCount.objects.select_related(*people).annotate(
        units_seen=_number_of(CountedUnit), units_differing=_number_of(CountDifference)
    )


def _number_of(model: type[CountedUnit] | type[CountDifference]) -> Coalesce:
    rows = model._default_manager.filter(count=OuterRef("pk")).order_by().values("count")
    number = rows.annotate(number=Count("id")).values("number")
    return Coalesce(Subquery(number, output_field=IntegerField()), 0)


def is_here(count: StockCount, unit: UnitOfStock) -> bool:
    """Whether an unopened unit lies where the count looks."""
    if count.scope == CountScope.EVERYTHING:
        return True
    return unit.place_id == count.place_id


def expected_units(count: StockCount) -> QuerySet[UnitOfStock]:
    """Unopened units that lie, by the ledger, where the count looks; by place, product and lot."""
    units = UnitOfStock.objects.in_stock()
    if count.scope != CountScope.EVERYTHING:
        units = units.filter(place=count.place_id)
    return units.select_related("lot__product", "place__site").order_by(*_IN_ORDER)


def expected_with_marks(count: StockCount) -> QuerySet[UnitOfStock]:
    """The same, each with `is_seen`."""
    seen = CountedUnit.objects.filter(count=count, unit=OuterRef("pk"))
    return expected_units(count).annotate(is_seen=Exists(seen))


def lots_expected(count: StockCount) -> list[LotHere]:
    """The list people tick, in one query."""
    units = expected_with_marks(count)
    groups = groupby(units, key=lambda unit: (unit.place_id, unit.lot_id))
    return [LotHere(list(group)) for _, group in groups]


def unexpected(count: StockCount) -> QuerySet[CountedUnit]:
    """What was seen although it does not lie here by the ledger, the newest first."""
    here = expected_units(count).order_by().values("pk")
    seen = count.seen.select_related("unit__lot__product", "unit__place__site", "by").order_by(
        "-id"
    )
    return seen.exclude(unit__in=here)


def progress(count: StockCount) -> Progress:
    """In three queries, however much is counted."""
    expected = expected_with_marks(count).aggregate(
        expected=Count("id"), seen=Count("id", filter=Q(is_seen=True))
    )
    seen = count.seen.aggregate(all=Count("id"), last=Max("id"))
    extras = count.extras.aggregate(units=Sum("quantity", default=0), last=Max("at"))
    figures = (*expected.values(), *seen.values(), *extras.values())
    return Progress(
        seen=expected["seen"],
        expected=expected["expected"],
        unexpected=seen["all"] - expected["seen"],
        extras=extras["units"],
        mark="-".join(str(figure or 0).replace(" ", "T") for figure in figures),
    )


def units_concerned(count: StockCount) -> QuerySet[UnitOfStock]:
    """Every unit of which the comparison has to say something."""
    seen = CountedUnit.objects.filter(count=count).values("unit")
    here = Q(state=UnitState.IN_STOCK)
    if count.scope != CountScope.EVERYTHING:
        here &= Q(place=count.place_id)
    return UnitOfStock.objects.filter(here | Q(pk__in=seen)).select_related(
        "lot__product", "place__site"
    )


def compare(count: StockCount, units: Iterable[UnitOfStock] | None = None) -> Comparison:
    """
    What was seen beside the ledger as it is now.

    Args:
        units: `units_concerned`, if the caller has locked them; what happened to them is read after
            that, so that nothing comes in between.
    """
    if units is None:
        units = units_concerned(count).order_by(*_IN_ORDER)
    units = list(units)
    changed = _last_changes(units)
    seen = {row.unit_id: row for row in count.seen.select_related("by")}
    lines = [_line(count, unit, changed[unit.pk], seen.get(unit.pk)) for unit in units]
    said = {Finding.CHANGED, Finding.OPENED, Finding.ELSEWHERE}
    return Comparison(
        differences=[line for line in lines if line.finding.is_difference],
        extras=extra_lines(count),
        agreed=sum(line.finding is Finding.AS_EXPECTED for line in lines),
        passed_over=[line for line in lines if line.finding in said],
    )


def _line(
    count: StockCount, unit: UnitOfStock, changed_at: datetime, seen: CountedUnit | None
) -> Line:
    standing = Standing(_whereabouts(count, unit), changed_at, seen.at if seen else None)
    has_place = count.scope == CountScope.PLACE
    return Line(unit, judge(standing, started_at=count.started_at, has_place=has_place), seen)


def _whereabouts(count: StockCount, unit: UnitOfStock) -> Whereabouts:
    if unit.state == UnitState.IN_STOCK:
        return Whereabouts.HERE if is_here(count, unit) else Whereabouts.ELSEWHERE
    return Whereabouts.OPENED if unit.state == UnitState.OPENED else Whereabouts.GONE


def _last_changes(units: list[UnitOfStock]) -> dict[int, datetime]:
    """When something last happened to each unit at the shelf, by its id."""
    acts = StockMovement.objects.filter(unit__in=units).exclude(kind__in=_DRAWS).order_by()
    return dict(acts.values_list("unit").annotate(Max("at")))


def extra_lines(count: StockCount) -> list[ExtraLine]:
    """What is in nobody's books, each with what posting still needs."""
    extras = list(count.extras.select_related("product", "by"))
    gtins = [extra.gtin for extra in extras if extra.product is None]
    by_gtin = {product.gtin: product for product in Product.objects.filter(gtin__in=gtins)}
    received = _received_of(extras)
    lines = []
    for extra in extras:
        product = extra.product or by_gtin.get(extra.gtin)
        units = received.get((product.pk, extra.number), []) if product else []
        since = sum(at > extra.at for at in units)
        lines.append(ExtraLine(extra, product, _problem(extra, product, since)))
    return lines


def _received_of(extras: list[CountedExtra]) -> dict[tuple[int, str], list[datetime]]:
    """When units of these lot numbers came into the books, by product and number."""
    numbers = [extra.number for extra in extras]
    came = StockMovement.objects.filter(
        kind__in=[MovementKind.RECEIVED, MovementKind.FOUND], unit__lot__number__in=numbers
    ).values_list("unit__lot__product", "unit__lot__number", "at")
    times: dict[tuple[int, str], list[datetime]] = {}
    for product_id, number, at in came:
        times.setdefault((product_id, number), []).append(at)
    return times


def _problem(extra: CountedExtra, product: Product | None, received_since: int) -> str:
    if product is None:
        return f"No product has the GTIN {extra.gtin}. Add the product first."
    if extra.expires_on is None:
        return "Type the expiry as it is printed on the box."
    if received_since:
        return (
            f"{received_since} of this lot came into the books after this line was written. Take "
            "the line out, or save it again with what is still in nobody's books."
        )
    return ""


def posted_lines(count: StockCount) -> list[CountDifference]:
    """The differences that were posted, by kind, product and lot."""
    lines = count.differences.select_related("unit__lot__product", "movement__place__site")
    order = ("movement__kind", "unit__lot__product__name", "unit__lot_id", "unit_id")
    return list(lines.order_by(*order))


def results_by_lot(count: StockCount) -> list[LotResult]:
    """What was found of each lot, by product, first expired first; in two queries."""
    results: dict[int, LotResult] = {}

    def of(unit: UnitOfStock) -> LotResult:
        return results.setdefault(unit.lot_id, LotResult(unit.lot))

    seen = set()
    for row in count.seen.select_related("unit__lot__product"):
        of(row.unit).seen += 1
        seen.add(row.unit_id)
    for line in posted_lines(count):
        result, kind = of(line.unit), line.movement.kind
        if kind == MovementKind.MISSING:
            result.missing += 1
        elif kind == MovementKind.MOVED:
            result.moved += 1
        elif line.unit_id in seen:
            result.found += 1
        else:
            result.new += 1
    return sorted(
        results.values(),
        key=lambda row: (row.lot.product.name, row.lot.product_id, row.lot.expires_on, row.lot.pk),
    )
