"""
Counting by code, or by a unit's label.

A code without a serial number means any unit of its lot: the first that lies here and was not seen
yet. Where all of them were seen, the box may have been scanned before, or lie elsewhere by the
books, or be in none; that is asked, never guessed.
"""

from dataclasses import dataclass, field

from django.utils import timezone

from clinic.audit.services import Trail, acting
from clinic.counts.enums import CountScope, Way
from clinic.counts.errors import CountError
from clinic.counts.models import CountedExtra, StockCount
from clinic.counts.queries import expected_units, expected_with_marks, is_here
from clinic.counts.services.counting import extra_in_words, lock_open, see_in_locked
from clinic.stock.enums import UnitState
from clinic.stock.models import UnitOfStock
from clinic.stock.naming import Named, named
from clinic.stock.queries import lookalike_numbers
from clinic.stock.validators import MOST_AT_ONCE
from planning.scan import Scan


@dataclass(frozen=True)
class Answer:
    """
    What became of a code.

    Attributes:
        unit: noted, and can be taken back; None where nothing was noted.
        text, note: what happened, and what follows from it.
        candidates: units it may be, where that has to be asked.
        code: what was read, where it has to be asked which box it is.
        extra: the line that was written for it.
    """

    text: str
    note: str = ""
    unit: UnitOfStock | None = None
    candidates: list[UnitOfStock] = field(default_factory=list)
    code: str = ""
    extra: CountedExtra | None = None


def count_code(*, count: StockCount, text: str, actor) -> Answer:
    """
    Note the unit that `text`, a code or a label, names.

    Raises:
        CountClosed: the count was posted or given up.
        NotNamed: nothing can be read from it; the message says what to do.
        CountError: the unit is opened.
    """
    with acting(actor) as trail:
        # The lock: two who scan the same lot note two units.
        locked = lock_open(count.pk)
        meant = named(text)
        if meant.unit:
            way = Way.SCANNED if meant.scan else Way.TYPED
            return _see(locked, meant.unit, way, actor, trail)
        if meant.lot is None:
            return _add_extra(locked, meant, actor, trail)
        here = expected_with_marks(locked).filter(pk__in=meant.units.values("pk"), is_seen=False)
        if unit := here.first():
            return _see(locked, unit, Way.SCANNED, actor, trail)
        return _ask(locked, meant, text)


def add_extra(*, count: StockCount, text: str, actor) -> Answer:
    """
    Note a box of a known lot that is in nobody's books, as a person has said.

    Raises: as `count_code`.
    """
    with acting(actor) as trail:
        return _add_extra(lock_open(count.pk), named(text), actor, trail)


def _see(count: StockCount, unit: UnitOfStock, way: Way, actor, trail: Trail) -> Answer:
    if not see_in_locked(count, unit, way, actor, trail):
        return Answer(f"Unit {unit.label} is noted already.", "Nothing was added.")
    of_lot = list(expected_with_marks(count).filter(lot=unit.lot_id))
    seen = sum(one.is_seen for one in of_lot)  # type: ignore[attr-defined]
    text = f"Unit {unit.label}, lot {unit.lot.number}: {seen} of {len(of_lot)} here."
    return Answer(text, what_follows(count, unit), unit=unit)


def what_follows(count: StockCount, unit: UnitOfStock) -> str:
    """What posting will do because a unit was seen; "" where it lies here by the books."""
    if unit.state != UnitState.IN_STOCK:
        was = UnitState(unit.state).label.lower()
        return f"By the books it is {was}. Posting puts it back into stock."
    if is_here(count, unit):
        return ""
    lies = f"By the books it lies in {unit.place}." if unit.place else "It was not put anywhere."
    return f"{lies} Posting moves it here." if count.scope == CountScope.PLACE else lies


def _ask(count: StockCount, meant: Named, code: str) -> Answer:
    """All that lie here are seen. The others of the lot that may stand before the person."""
    seen = count.seen.values("unit")
    others = meant.units.exclude(pk__in=seen).exclude(state=UnitState.OPENED)
    lot = meant.lot
    if lot is None:
        raise CountError("The code names no lot.")
    known = expected_units(count).filter(lot=lot).count()
    if known:
        text = f"Lot {lot.number}: {known} known here, and {known} seen."
    else:
        text = f"Lot {lot.number}: by the books no unopened unit of it lies here."
    return Answer(text, candidates=_one_of_each(others), code=code)


def _one_of_each(units) -> list[UnitOfStock]:
    """The first unit of each state and place: those of one shelf cannot be told apart by code."""
    firsts: dict[tuple, UnitOfStock] = {}
    for unit in units:
        firsts.setdefault((unit.state, unit.place_id), unit)
    return list(firsts.values())


def _add_extra(count: StockCount, meant: Named, actor, trail: Trail) -> Answer:
    scan = meant.scan
    if scan is None or meant.unit:
        raise CountError("This unit is in the books. Note it by its label.")
    product = meant.product
    key = {
        "product": product, "gtin": "" if product else scan.gtin, "number": scan.lot,
        "serial": scan.serial,
    }  # fmt: skip
    extra = count.extras.filter(**key).first()
    if extra is None:
        expiry = meant.lot.expires_on if meant.lot else scan.expiry
        extra = CountedExtra(count=count, quantity=0, expires_on=expiry, **key)
    elif scan.serial:
        return Answer(f"Serial number {scan.serial} is noted already.", "Nothing was added.")
    if extra.quantity == MOST_AT_ONCE:
        raise CountError(f"A line holds at most {MOST_AT_ONCE} units.")
    extra.quantity += 1
    extra.at, extra.by = timezone.now(), actor
    extra.save()
    trail.add("count.extra_noted", count, after=extra_in_words(extra))
    what = product.name if product else f"a product with the GTIN {scan.gtin}, which is not known"
    text = f"Lot {scan.lot} of {what}: {extra.quantity} in nobody's books."
    return Answer(text, _alike(meant, scan), extra=extra)


def _alike(meant: Named, scan: Scan) -> str:
    """A question where the lot number could be a known one that was misread."""
    if meant.lot or meant.product is None:
        return ""
    known = ", ".join(f"“{number}”" for number in lookalike_numbers(meant.product, scan.lot))
    return f"It resembles {known}. Compare with the box." if known else ""
