"""Starting a count, noting what is seen, and giving it up."""

from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.services import Trail, acting
from clinic.counts.enums import CountScope, Way
from clinic.counts.errors import CountClosed, CountError, CountUnderWay
from clinic.counts.models import CountedExtra, CountedUnit, StockCount
from clinic.places.models import Place
from clinic.stock.enums import UnitState
from clinic.stock.models import UnitOfStock
from planning.lot_numbers import LotNumberError, check_lot_number


def start_count(*, scope: CountScope, place: Place | None, actor) -> StockCount:
    """
    Begin to count.

    Raises:
        CountUnderWay: the same is being counted already; whoever wants to help goes there.
        CountError: the place is no longer in use.
    """
    if place and not place.is_active:
        raise CountError(f"{place} is no longer in use, so there is nothing to count.")
    count = StockCount(scope=scope, place=place, started_at=timezone.now(), started_by=actor)
    try:
        with acting(actor) as trail:
            count.save()
            trail.add(
                "count.started", count, after={"scope": scope.label, "place": str(place or "")}
            )
    except IntegrityError:
        running = StockCount.objects.under_way().filter(scope=scope, place=place).first()
        if running is None:
            raise
        raise CountUnderWay(f"{running.what} is being counted already.", running) from None
    return count


def lock_open(pk: int) -> StockCount:
    """
    The count, its row locked until the transaction ends.

    Raises:
        CountClosed: it was posted or given up.
    """
    count = StockCount.objects.select_for_update(no_key=True, of=("self",)).get(pk=pk)
    if not count.is_open:
        how = "posted" if count.posted_at else "given up"
        who = count.posted_by or count.given_up_by
        raise CountClosed(f"{count} was {how} by {who}; nothing is added to it any more.")
    return count


def see_unit(*, count: StockCount, unit: UnitOfStock, way: Way, actor) -> bool:
    """
    Note that a unit is there; False where somebody has noted it already.

    Raises:
        CountClosed: the count was posted or given up.
        CountError: the unit is opened; only unopened units are counted.
    """
    with acting(actor) as trail:
        locked = lock_open(count.pk)
        return see_in_locked(locked, unit, way, actor, trail)


def see_in_locked(count: StockCount, unit: UnitOfStock, way: Way, actor, trail: Trail) -> bool:
    """`see_unit` as a part of the caller's act, who holds the count's lock."""
    if unit.state == UnitState.OPENED:
        raise CountError(f"Unit {unit.label} is opened: only unopened units are counted.")
    if count.seen.filter(unit=unit).exists():
        return False
    CountedUnit.objects.create(count=count, unit=unit, way=way, at=timezone.now(), by=actor)
    trail.add("count.unit_seen", count, after={"unit": unit.label, "noted_by": way.label})
    return True


def take_back(*, count: StockCount, unit: UnitOfStock, actor) -> None:
    """
    The unit was noted by mistake. Where nobody has noted it, nothing happens.

    Raises:
        CountClosed: the count was posted or given up.
    """
    with acting(actor) as trail:
        locked = lock_open(count.pk)
        removed, _ = locked.seen.filter(unit=unit).delete()
        if removed:
            trail.add("count.unit_taken_back", locked, before={"unit": unit.label})


def save_extra(*, extra: CountedExtra, actor) -> CountedExtra:
    """
    Write down, or change, something that lies there and is in nobody's books.

    Raises:
        CountClosed: the count was posted or given up.
        CountError: no lot number, or the same lot has a line already.
    """
    try:
        check_lot_number(extra.number)
    except LotNumberError as error:
        raise CountError(str(error)) from error
    with acting(actor) as trail:
        lock_open(extra.count_id)
        extra.at, extra.by = timezone.now(), actor
        same = extra.count.extras.exclude(pk=extra.pk).filter(
            product=extra.product, gtin=extra.gtin, number=extra.number, serial=extra.serial
        )
        if same.exists():
            raise CountError(f"Lot {extra.number} has a line already. Change the number there.")
        extra.save()
        trail.add("count.extra_noted", extra.count, after=extra_in_words(extra))
    return extra


def remove_extra(*, extra: CountedExtra, actor) -> None:
    """
    Take such a line out again.

    Raises:
        CountClosed: the count was posted or given up.
    """
    with acting(actor) as trail:
        count = lock_open(extra.count_id)
        trail.add("count.extra_taken_out", count, before=extra_in_words(extra))
        extra.delete()


def extra_in_words(extra: CountedExtra) -> dict:
    """For the trail."""
    return {
        "product": str(extra.product or f"GTIN {extra.gtin}"), "lot": extra.number,
        "serial": extra.serial, "quantity": extra.quantity,
        "expiry": extra.expires_on and extra.expires_on.isoformat(),
    }  # fmt: skip


def give_up(*, count: StockCount, reason: str, actor) -> None:
    """
    End a count without posting it; it stays in the list.

    Raises:
        CountClosed: it was posted or given up already.
        CountError: no reason.
    """
    if not reason.strip():
        raise CountError("Say why it is given up.")
    with acting(actor) as trail:
        locked = lock_open(count.pk)
        locked.given_up_at, locked.given_up_by = timezone.now(), actor
        locked.give_up_reason = reason.strip()
        locked.save(update_fields=["given_up_at", "given_up_by", "give_up_reason"])
        trail.add("count.given_up", locked, reason=locked.give_up_reason)
