"""What a quarantine reaches, and what holds a lot or a unit."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Count, QuerySet

from clinic.places.models import Place
from clinic.products.models import Product
from clinic.quarantine.models import Quarantine
from clinic.stock.enums import UnitState
from clinic.stock.models import HAS_SOMETHING_LEFT, Lot, UnitOfStock
from planning.code_ranges import Within, within
from planning.lot_numbers import lookalikes


def lot_verdict(quarantine: Quarantine, number: str) -> Within:
    """Whether a lot of this number is meant; "unclear" where only a person can say."""
    return _verdict(number, quarantine.lot_first, quarantine.lot_last)


def serial_verdict(quarantine: Quarantine, serial: str) -> Within:
    """Whether a unit of this serial number is meant; unclear where nobody noted the number."""
    if quarantine.is_by_serial and not serial:
        return Within.UNCLEAR
    return _verdict(serial, quarantine.serial_first, quarantine.serial_last)


def _verdict(number: str, first: str, last: str) -> Within:
    if not first:
        return Within.INSIDE
    if first == last:
        return Within.INSIDE if number == first else Within.OUTSIDE
    return within(number, first, last)


def reaches_lot(quarantine: Quarantine, number: str) -> bool:
    """
    Whether it holds a lot of this number. One that cannot be compared with the ends is held too: a
    person looks at it and lifts, and until then nothing of it is injected.
    """
    return lot_verdict(quarantine, number) is not Within.OUTSIDE


def reaches_serial(quarantine: Quarantine, serial: str) -> bool:
    """As `reaches_lot`, for a unit of this serial number."""
    return serial_verdict(quarantine, serial) is not Within.OUTSIDE


def reaches_unit(quarantine: Quarantine, unit: UnitOfStock) -> bool:
    """Needs the unit's lot loaded."""
    return reaches_lot(quarantine, unit.lot.number) and reaches_serial(quarantine, unit.serial)


def standing_on(product: Product) -> list[Quarantine]:
    """The quarantines of a product that were not lifted, the oldest first."""
    return list(Quarantine.objects.standing().filter(product=product).order_by("id"))


def holding(lot: Lot, quarantines: Iterable[Quarantine]) -> Quarantine | None:
    """The first of `quarantines` that holds the whole lot."""
    return next((q for q in quarantines if not q.is_by_serial and reaches_lot(q, lot.number)), None)


@dataclass(frozen=True)
class LotReach:
    """
    A lot that a quarantine reaches, and its units that are held and still here.

    `is_unclear`: its number cannot be compared with the ends, or serial numbers of its units
    cannot; they are held until a person has compared them with the notice.
    """

    lot: Lot
    is_unclear: bool
    on_hand: list[UnitOfStock]
    opened: list[UnitOfStock]


@dataclass(frozen=True)
class Shelf:
    """Units on hand in one place; `place` is None where nobody said."""

    place: Place | None
    units: list[UnitOfStock]

    @property
    def lots(self) -> list[tuple[Lot, int]]:
        """Its lots, each with how many units of it lie here."""
        counts = Counter(unit.lot_id for unit in self.units)
        lots = {unit.lot_id: unit.lot for unit in self.units}
        return [(lots[pk], count) for pk, count in counts.items()]


@dataclass(frozen=True)
class Reach:
    """
    What a quarantine reaches now.

    Attributes:
        gone: how many of its units are used up or have left the stock.
        unclear_units: held units whose serial number nobody noted or that cannot be compared.
        alike: lots of the product that it does not reach though their number looks alike.
    """

    lots: list[LotReach]
    gone: int
    unclear_units: list[UnitOfStock]
    alike: list[Lot]

    @property
    def on_hand(self) -> list[UnitOfStock]:
        return [unit for lot in self.lots for unit in lot.on_hand]

    @property
    def opened(self) -> list[UnitOfStock]:
        return [unit for lot in self.lots for unit in lot.opened]

    @property
    def unclear_lots(self) -> list[Lot]:
        return [row.lot for row in self.lots if row.is_unclear]

    @property
    def shelves(self) -> list[Shelf]:
        """The units on hand, place by place, as somebody walks along to pull them."""

        def by_place(unit: UnitOfStock) -> tuple[bool, str, int]:
            return unit.place is None, str(unit.place or ""), unit.pk

        units = sorted(self.on_hand, key=by_place)
        return [Shelf(place, list(group)) for place, group in groupby(units, lambda u: u.place)]


def reach_of(quarantine: Quarantine) -> Reach:
    """What it holds, or would hold if it were placed now, in three queries."""
    lots = list(Lot.objects.filter(product=quarantine.product).order_by("expires_on", "id"))
    reached = [lot for lot in lots if reaches_lot(quarantine, lot.number)]
    units = UnitOfStock.objects.filter(lot__in=reached)
    here: dict[int, list[UnitOfStock]] = defaultdict(list)
    unclear = []
    for unit in units.with_something_left().select_related("lot", "place__site").order_by("id"):
        verdict = serial_verdict(quarantine, unit.serial)
        if verdict is not Within.OUTSIDE:
            here[unit.lot_id].append(unit)
        if verdict is Within.UNCLEAR:
            unclear.append(unit)
    return Reach(
        lots=[
            LotReach(
                lot=lot,
                is_unclear=lot_verdict(quarantine, lot.number) is Within.UNCLEAR,
                on_hand=[unit for unit in here[lot.pk] if unit.state == UnitState.IN_STOCK],
                opened=[unit for unit in here[lot.pk] if unit.state == UnitState.OPENED],
            )
            for lot in reached
        ],
        gone=_gone(quarantine, units.exclude(HAS_SOMETHING_LEFT)),
        unclear_units=unclear,
        alike=_alike(quarantine, [lot for lot in lots if lot not in reached]),
    )


def _gone(quarantine: Quarantine, units: QuerySet[UnitOfStock]) -> int:
    if not quarantine.is_by_serial:
        return units.count()
    serials = units.values_list("serial", flat=True)
    return sum(reaches_serial(quarantine, serial) for serial in serials.iterator())


def _alike(quarantine: Quarantine, others: list[Lot]) -> list[Lot]:
    """Of a range, what could be misread is held already; of one lot, a person is asked."""
    if not quarantine.lot_first:
        return []
    numbers = lookalikes(quarantine.lot_first, [lot.number for lot in others])
    return [lot for lot in others if lot.number in numbers]


@dataclass(frozen=True)
class Standing:
    """A quarantine that was not lifted, and how much it holds: lots, units on hand and opened."""

    quarantine: Quarantine
    lots: int
    on_hand: int
    opened: int


def standing_quarantines() -> list[Standing]:
    """All that were not lifted, the newest first, in three queries."""
    quarantines = list(Quarantine.objects.standing().select_related("product", "placed_by"))
    lots: dict[int, list[Lot]] = defaultdict(list)
    for lot in Lot.objects.filter(product__in={q.product_id for q in quarantines}):
        lots[lot.product_id].append(lot)
    reached = {
        q.pk: {lot.pk for lot in lots[q.product_id] if reaches_lot(q, lot.number)}
        for q in quarantines
    }
    units = UnitOfStock.objects.with_something_left().filter(lot__in=set().union(*reached.values()))
    here = list(units.values_list("lot_id", "serial", "state").annotate(count=Count("id")))
    return [_standing(quarantine, reached[quarantine.pk], here) for quarantine in quarantines]


def _standing(
    quarantine: Quarantine, lots: set[int], here: list[tuple[int, str, str, int]]
) -> Standing:
    counts: Counter[str] = Counter()
    for lot, serial, state, count in here:
        if lot in lots and reaches_serial(quarantine, serial):
            counts[state] += count
    return Standing(quarantine, len(lots), counts[UnitState.IN_STOCK], counts[UnitState.OPENED])


def quarantines_of(lot: Lot) -> list[Quarantine]:
    """Those that reach the lot or some of its units, standing ones first, then the newest."""
    placed = Quarantine.objects.filter(product=lot.product).select_related("placed_by", "lifted_by")
    reaching = [quarantine for quarantine in placed if reaches_lot(quarantine, lot.number)]
    return sorted(reaching, key=lambda quarantine: quarantine.is_lifted)
