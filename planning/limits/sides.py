"""Left against right: in the session itself, or against what was planned."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass, field

from planning.amounts import format_amount
from planning.flags import Flag, FlagLevel, SessionFacts
from planning.sources import SIDE_DIFFERENCE, clinic_policy
from planning.vocabulary import Measure, Side

DEFAULT_PERCENT = 25


@dataclass(slots=True)
class _Pair:
    """One product in one region, in its base unit."""

    place: str
    measure: Measure
    left: int = 0
    right: int = 0
    numbers: list[int] = field(default_factory=list)


def side_flags(facts: SessionFacts) -> Iterator[Flag]:
    """
    Left and right of a region that differ by more than the clinic's share of the larger amount.

    With a plan for the region, its own difference is wanted and only what goes beyond it counts, a
    side not done included. Without one, both sides have to be given: one side alone may be meant.
    """
    percent = facts.settings.side_difference_percent
    if percent is None:
        return
    for (region, product), pair in _pairs(facts).items():
        planned = {
            side: facts.planned.get((region, side, product), 0) for side in (Side.LEFT, Side.RIGHT)
        }
        if not any(planned.values()) and not (pair.left and pair.right):
            continue
        wanted = planned[Side.LEFT] - planned[Side.RIGHT]
        beyond = abs(pair.left - pair.right - wanted)
        if beyond * 100 > percent * max(pair.left, pair.right, *planned.values()):
            yield _flag(pair, planned, percent)


def _flag(pair: _Pair, planned: dict[Side, int], percent: int) -> Flag:
    def both(left: int, right: int) -> str:
        shown = [format_amount(amount, pair.measure) for amount in (left, right)]
        return f"left {shown[0]}, right {shown[1]}"

    plan = both(planned[Side.LEFT], planned[Side.RIGHT])
    against = f"; planned {plan}" if any(planned.values()) else f", more than {percent} % apart"
    own = clinic_policy(f"left and right at most {percent} % apart")
    return Flag(
        "side-difference",
        FlagLevel.QUESTION,
        f"{pair.place}: {both(pair.left, pair.right)}{against}.",
        "Look for a forgotten or doubled point, or leave it if the difference is meant.",
        SIDE_DIFFERENCE if percent == DEFAULT_PERCENT else own,
        tuple(pair.numbers),
    )


def _pairs(facts: SessionFacts) -> dict[tuple[str, Hashable], _Pair]:
    pairs: dict[tuple[str, Hashable], _Pair] = {}
    for point in facts.points:
        if not (point.is_filler or point.is_toxin) or point.side is Side.MIDLINE:
            continue
        key = (point.region, point.product_key)
        place = f"{point.region_label}, {point.product_label}"
        pair = pairs.setdefault(key, _Pair(place, point.measure))
        if point.side is Side.LEFT:
            pair.left += point.amount
        else:
            pair.right += point.amount
        pair.numbers.append(point.number)
    return pairs
