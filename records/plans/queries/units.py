"""
Which units a plan will open: its lines against what is open for the patient and what lies on the
shelf, stage by stage. What an earlier stage takes is not there for a later one.
"""

from collections import Counter
from collections.abc import Hashable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any, cast

from django.db.models import Count, F, Q
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.products.models import Product
from clinic.stock.enums import UnitState
from clinic.stock.models import Lot, UnitOfStock
from planning.allocation.plan import Allocation, OpenUnit, PlannedAmount, allocate
from planning.allocation.shelf import Pack, Preference
from planning.money import MOST
from planning.vocabulary import Measure
from records.plans.models import Plan, PlanLine, PlanStage

PackKey = tuple[int, int | None]
"""Product and lot; no lot where the pack has to be ordered first."""

# Of one product: every way to deal them to the planes is tried, and nobody keeps more of it.
MOST_OPEN = 3
# Where cost decides, a pack that has no price is taken last: nobody can say that it is cheap.
NO_PRICE = MOST + 1


@dataclass(frozen=True)
class UnitsToOpen:
    """So many units of one pack and lot; `lot` is None where they have to be ordered first."""

    product: Product
    lot: Lot | None
    units: int

    @property
    def content(self) -> int:
        return self.product.content

    @property
    def cost(self) -> int | None:
        """In hundredths of the clinic's currency; None where the product has no price."""
        return None if self.product.price is None else self.product.price * self.units


@dataclass(frozen=True)
class ProductNeed:
    """
    One product of a stage, whatever the pack: base units, `left` is opened and not planned. What is
    left of a product that the clinic shares goes to others and is no waste.
    """

    name: str
    measure: Measure
    planned: int
    left: int
    is_shared: bool


@dataclass(frozen=True)
class StageUnits:
    """What one stage opens. `in_use`: units that are open already and are used first."""

    stage: PlanStage
    on: date
    needs: tuple[ProductNeed, ...]
    to_open: tuple[UnitsToOpen, ...]
    in_use: tuple[UnitOfStock, ...]

    @property
    def to_order(self) -> list[UnitsToOpen]:
        return [row for row in self.to_open if row.lot is None]

    @property
    def unpriced(self) -> list[Product]:
        """
        What has no price: none was set, or it comes out of a unit that is open for several people,
        which this patient pays a share of.
        """
        shared = [
            unit.lot.product for unit in self.in_use if not unit.lot.product.is_single_patient
        ]
        return [*(row.product for row in self.to_open if row.cost is None), *shared]

    @property
    def cost(self) -> int | None:
        """None where a price is missing: a part of a price is no price."""
        if self.unpriced:
            return None
        costs = [row.cost for row in self.to_open]
        return sum(cost for cost in costs if cost is not None)


@dataclass
class _Shelf:
    """What can be opened: packs by number, with how many of each are still there."""

    packs: dict[PackKey, Pack] = field(default_factory=dict)
    lots: dict[int, Lot] = field(default_factory=dict)
    products: dict[int, Product] = field(default_factory=dict)

    def on(self, day: date) -> list[Pack]:
        return [pack for pack in self.packs.values() if pack.expires_on >= day and pack.units]

    def take(self, opened: dict[Hashable, int]) -> None:
        for key, units in opened.items():
            pack = self.packs.get(cast(PackKey, key))
            if pack is not None:  # not what has to be ordered
                self.packs[cast(PackKey, key)] = replace(pack, units=pack.units - units)


def units_for(
    plan: Plan, policy: ClinicPolicy, *, before_session: int | None = None
) -> list[StageUnits]:
    """
    For every stage that no signed session has treated yet; a plan read by `with_lines`. A number of
    queries that does not grow with the plan.

    Args:
        before_session: a session whose own units are taken as still closed.
    """
    days = _days(plan)
    lines = [line for stage, _ in days for line in stage.lines.all()]
    if not lines:
        return []
    shelf = _shelf([line.product for line in lines], before_session)
    in_use = _in_use(plan, {line.product.line_key for line in lines}, before_session)
    found = []
    for stage, day in days:
        of_stage = list(stage.lines.all())
        if not of_stage:
            continue
        found.append(_stage_units(stage, day, of_stage, shelf, in_use, policy))
        in_use = []  # what is open now is used up or thrown away by then
    return found


def _days(plan: Plan) -> list[tuple[PlanStage, date]]:
    """
    The stages that no signed session has treated yet, each with the first day it can take place:
    so many weeks after the stage before, and not before today.
    """
    days: list[tuple[PlanStage, date]] = []
    before: date | None = None
    for stage in plan.stages.all():
        if stage.session is not None and stage.session.is_signed:
            before = timezone.localdate(stage.session.started_at)
            continue
        day = timezone.localdate()
        if before and stage.session is None:
            day = max(day, before + timedelta(weeks=stage.weeks_after))
        days.append((stage, day))
        before = day
    return days


def _shelf(products: Iterable[Product], before_session: int | None) -> _Shelf:
    shelf = _Shelf()
    keys = {product.line_key for product in products}
    makers = {product.maker for product in products}
    own = {product.pk for product in products}
    for product in Product.objects.filter(Q(pk__in=own) | Q(maker__in=makers, is_active=True)):
        if product.line_key in keys:
            shelf.products[product.pk] = product
    closed = Q(state=UnitState.IN_STOCK)
    if before_session is not None:
        closed |= Q(opening__session=before_session)
    # What is no longer in use is not offered to be opened either.
    offered = [product.pk for product in shelf.products.values() if product.is_active]
    units = UnitOfStock.objects.filter(
        closed, lot__product__in=offered, quarantined_at__isnull=True,
        lot__quarantined_at__isnull=True,
    )  # fmt: skip
    counted = dict(units.order_by().values_list("lot").annotate(Count("id")))
    shelf.lots = Lot.objects.in_bulk(list(counted))
    for pk, lot in shelf.lots.items():
        product = shelf.products[lot.product_id]
        shelf.packs[product.pk, pk] = _pack(product, pk, counted[pk], lot.expires_on)
    return shelf


def _pack(product: Product, lot: int | None, units: int, expires_on: date) -> Pack:
    return Pack(
        key=(product.pk, lot),
        product=product.line_key,
        lot=lot if lot is not None else f"to order {product.pk}",
        content=product.content,
        units=units,
        price=NO_PRICE if product.price is None else product.price,
        expires_on=expires_on,
    )


def _in_use(plan: Plan, keys: set, before_session: int | None) -> list[UnitOfStock]:
    """
    Units with something left that are open for the patient, or shared and still to be used. By
    name: openings belong to the sessions.
    """
    units = (
        UnitOfStock.objects.opened()
        .filter(Q(opening__patient=plan.patient_id) | Q(opening__patient__isnull=True))
        .filter(opening__isnull=False, content__gt=F("drawn") + F("wasted"))
        .filter(quarantined_at__isnull=True, lot__quarantined_at__isnull=True)
        .filter(lot__expires_on__gte=timezone.localdate())
        .filter(Q(opening__use_before__isnull=True) | Q(opening__use_before__gt=timezone.now()))
        .with_lot()
        .first_expired_first()
    )
    if before_session is not None:
        units = units.exclude(opening__session=before_session)
    counted: Counter[Hashable] = Counter()
    found = []
    for unit in units:
        key = unit.lot.product.line_key
        if key in keys and counted[key] < MOST_OPEN:
            counted[key] += 1
            found.append(unit)
    return found


def _stage_units(
    stage: PlanStage,
    day: date,
    lines: list[PlanLine],
    shelf: _Shelf,
    in_use: list[UnitOfStock],
    policy: ClinicPolicy,
) -> StageUnits:
    opened: dict[Hashable, int] = {}
    drawn: set[Hashable] = set()
    needs: list[ProductNeed] = []
    by_key: dict[Hashable, list[PlanLine]] = {}
    for line in lines:
        by_key.setdefault(line.product.line_key, []).append(line)
    for of_product in by_key.values():
        found = _allocated(of_product, day, shelf, in_use, policy)
        shelf.take(found.opened)
        opened |= found.opened
        drawn |= {draw.unit for draw in found.draws}
        needs.append(_need(of_product, found))
    return StageUnits(
        stage,
        day,
        tuple(needs),
        tuple(_to_open(key, units, shelf) for key, units in opened.items()),
        tuple(unit for unit in in_use if unit.pk in drawn),
    )


def _allocated(
    lines: list[PlanLine],
    day: date,
    shelf: _Shelf,
    in_use: list[UnitOfStock],
    policy: ClinicPolicy,
) -> Allocation:
    """Of one product: from the shelf, or from what would have to be ordered where that lacks it."""
    product = lines[0].product
    amounts = [
        PlannedAmount(line.pk, product.line_key, line.region, line.plane, line.amount)
        for line in lines
    ]
    open_units = [
        OpenUnit(unit.pk, product.line_key, unit.lot_id, unit.remaining)
        for unit in in_use
        if unit.lot.product.line_key == product.line_key
    ]
    alike = [each for each in shelf.products.values() if each.line_key == product.line_key]
    needed = sum(line.amount for line in lines)
    ordered = [
        _pack(each, None, len(lines) + needed // each.content, date.max)
        for each in [each for each in alike if each.is_active] or alike
    ]
    way: dict[str, Any] = {
        "preference": Preference(policy.plan_preference),
        # A syringe that touched one plane stays in it; each draw from a vial has a new needle.
        "one_plane_a_unit": policy.one_plane_a_unit and product.measure is Measure.VOLUME,
    }
    found = allocate(amounts, shelf.on(day), open_units, **way)
    if found.shortages:
        found = allocate(amounts, [*shelf.on(day), *ordered], open_units, **way)
    return found


def _need(lines: list[PlanLine], found: Allocation) -> ProductNeed:
    product = lines[0].product
    return ProductNeed(
        name=product.line_name,
        measure=product.measure,
        planned=sum(line.amount for line in lines),
        left=found.waste.get(product.line_key, 0),
        is_shared=not product.is_single_patient,
    )


def _to_open(key: Hashable, units: int, shelf: _Shelf) -> UnitsToOpen:
    product, lot = cast(PackKey, key)
    return UnitsToOpen(shelf.products[product], shelf.lots[lot] if lot else None, units)
