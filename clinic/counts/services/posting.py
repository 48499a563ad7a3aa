"""
Writing into the ledger what a count came to: once, as a whole, with a reason for each line.

The rows are locked in the order in which everybody takes them: products, units, lots. Whoever opens
a unit meanwhile comes before the comparison or after the posting, never in between.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils import timezone

from clinic.audit.services import Trail, acting
from clinic.counts.errors import CountError, NotExplained
from clinic.counts.models import CountDifference, StockCount
from clinic.counts.queries import Comparison, ExtraLine, Line, compare, units_concerned
from clinic.counts.services.counting import lock_open
from clinic.products.models import Product
from clinic.receiving.services import receive_lot
from clinic.stock.enums import MovementKind
from clinic.stock.errors import StockError
from clinic.stock.models import StockMovement, UnitOfStock
from clinic.stock.services import move_unit, put_elsewhere
from planning.stock_counts import Finding

LONGEST = 300


@dataclass(frozen=True)
class _Posting:
    """What each line of a posting needs."""

    count: StockCount
    said: Mapping[str, str]
    actor: object
    trail: Trail


def unit_key(unit: UnitOfStock) -> str:
    """The name under which a unit's line is explained."""
    return f"unit-{unit.pk}"


def extra_key(line: ExtraLine) -> str:
    return f"extra-{line.extra.pk}"


def post_count(*, count: StockCount, explanations: Mapping[str, str], actor) -> Comparison:
    """
    Post every difference there is now, with the reason given for it.

    Args:
        explanations: by `unit_key` and `extra_key`; others than those of differences are left out,
            for what was a difference a while ago may be none now.

    Raises:
        CountClosed: it was posted or given up already.
        NotExplained: a difference has no reason, or a line cannot be received; nothing is written.
    """
    with acting(actor) as trail:
        locked = lock_open(count.pk)
        comparison = _locked_comparison(locked)
        said = {key: text.strip() for key, text in explanations.items()}
        _refuse_unexplained(comparison, said)
        posting = _Posting(locked, said, actor, trail)
        written = [
            *(_post_extra(posting, line) for line in comparison.extras),
            *([_post_unit(posting, line)] for line in comparison.differences),
        ]
        CountDifference.objects.bulk_create(row for rows in written for row in rows)
        locked.posted_at, locked.posted_by = timezone.now(), actor
        locked.save(update_fields=["posted_at", "posted_by"])
        trail.add("count.posted", locked, after=_in_words(comparison))
    return comparison


def _locked_comparison(count: StockCount) -> Comparison:
    products = Product.objects.filter(
        pk__in=[line.product.pk for line in compare(count).extras if line.product]
    )
    list(products.select_for_update(no_key=True).order_by("pk"))
    units = units_concerned(count).select_for_update(of=("self",), no_key=True).order_by("pk")
    return compare(count, units)


def _refuse_unexplained(comparison: Comparison, said: Mapping[str, str]) -> None:
    wrong = {extra_key(line): line.problem for line in comparison.extras if line.problem}
    keys = [
        *(unit_key(line.unit) for line in comparison.differences),
        *(extra_key(line) for line in comparison.extras),
    ]
    for key in keys:
        text = said.get(key, "")
        if not text:
            wrong.setdefault(key, "Say why.")
        elif "\x00" in text:
            wrong.setdefault(key, "A character in it cannot be stored. Type the reason again.")
        elif len(text) > LONGEST:
            wrong.setdefault(key, f"At most {LONGEST} characters; this has {len(text)}.")
    if wrong:
        raise NotExplained("Not posted yet: please look at the marked lines.", wrong)


def _post_unit(posting: _Posting, line: Line) -> CountDifference:
    unit, place = line.unit, posting.count.place
    reason = posting.said[unit_key(unit)]
    if line.finding is Finding.MOVED:
        if place is None:
            raise CountError(f"{posting.count} is of no one place, so it moves nothing.")
        movement = put_elsewhere(unit=unit, place=place, reason=reason, actor=posting.actor)
    else:
        is_missing = line.finding is Finding.MISSING
        kind = MovementKind.MISSING if is_missing else MovementKind.FOUND
        movement = move_unit(
            unit, kind, amount=unit.content, reason=reason, actor=posting.actor,
            place=None if is_missing else place,
        )  # fmt: skip
        posting.trail.add(f"unit.{kind}", unit, after={"count": posting.count.pk}, reason=reason)
    return _difference(posting, movement, reason)


def _post_extra(posting: _Posting, line: ExtraLine) -> list[CountDifference]:
    extra, product = line.extra, line.product
    if product is None or extra.expires_on is None:
        raise CountError(line.problem)
    reason = posting.said[extra_key(line)]
    try:
        units = receive_lot(
            product=product, number=extra.number, expires_on=extra.expires_on,
            quantity=extra.quantity, serials=[extra.serial] if extra.serial else [],
            place=posting.count.place, found=reason, actor=posting.actor,
        )  # fmt: skip
    except StockError as error:
        raise NotExplained(
            "Not posted yet: please look at the marked lines.", {extra_key(line): str(error)}
        ) from error
    movements = StockMovement.objects.filter(unit__in=[unit.pk for unit in units])
    return [_difference(posting, movement, reason) for movement in movements]


def _difference(posting: _Posting, movement: StockMovement, reason: str) -> CountDifference:
    return CountDifference(
        count=posting.count, unit_id=movement.unit_id, movement=movement, explanation=reason
    )


def _in_words(comparison: Comparison) -> dict:
    """For the trail: how many agreed, and which units did not."""
    labels = {
        finding.name.lower(): [
            line.unit.label for line in comparison.differences if line.finding is finding
        ]
        for finding in (Finding.MISSING, Finding.MOVED, Finding.FOUND)
    }
    received = sum(line.extra.quantity for line in comparison.extras)
    figures = {"as_expected": comparison.agreed, "received": received}
    return figures | {name: units for name, units in labels.items() if units}
