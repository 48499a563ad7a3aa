"""
Choosing packs for one need: the units whose content covers it at the least waste or cost.

A bounded knapsack over the content that is opened, solved exactly. What is compared, in this order:
waste and cost as the clinic prefers, then how many lots are used, how many units, and how early
they expire. All sums are of integers.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from math import gcd

from planning.vocabulary import Term

Score = tuple[int, int, int, int]
"""Cost, lots, units and the sum of the units' days of expiry: what is compared at one content."""


# How often packs are dealt out anew before the search is given up: a face takes a few dozen.
MOST_LOOKS = 1_000


class Preference(Term):
    """What the clinic wants least of; the other decides between equals."""

    WASTE = "waste", "Least product wasted"
    COST = "cost", "Least cost"


class NotEnoughError(ValueError):
    """The shelf does not hold what is needed; `missing` is by how much, in the base unit."""

    def __init__(self, missing: int) -> None:
        super().__init__("The shelf does not hold what is needed.")
        self.missing = missing


@dataclass(frozen=True, slots=True)
class Pack:
    """
    Units on the shelf that are alike: one product, lot, content, price and expiry.

    Attributes:
        content: of one unit, in microlitres or centiunits.
        units: how many lie there.
        price: of one unit, in the smallest coin.
    """

    key: Hashable
    product: Hashable
    lot: Hashable
    content: int
    units: int
    price: int
    expires_on: date

    def __post_init__(self) -> None:
        if self.content <= 0 or self.units < 0 or self.price < 0:
            raise ValueError("Content must be above 0, units and price not below 0.")


@dataclass(frozen=True, slots=True)
class Choice:
    """
    Attributes:
        units: how many units of each pack are opened, by the pack's key.
        rank: what is compared, the smaller the better; ranks of several needs add up part by part.
    """

    units: dict[Hashable, int]
    rank: tuple[int, ...]


NOTHING = Choice({}, (0, 0, 0, 0, 0))


@dataclass(frozen=True, slots=True)
class _Step:
    """How a content was reached: so many units of a pack more than `before`."""

    pack: int
    units: int
    before: _Step | None


_Table = list[tuple[Score, _Step | None] | None]
"""By the content that is opened, in grains: the best way to open just that, or none."""


def choose(need: int, packs: Sequence[Pack], preference: Preference) -> Choice:
    """
    What to open of one product for `need`; nothing for a need of 0.

    Raises:
        NotEnoughError: all packs together hold less.
    """
    if need <= 0:
        return NOTHING
    held = sum(pack.content * pack.units for pack in packs)
    if held < need:
        raise NotEnoughError(need - held)
    ordered = sorted(packs, key=lambda pack: (str(pack.lot), pack.expires_on, -pack.content))
    usable = [pack for pack in ordered if pack.units]
    grain = gcd(*(pack.content for pack in usable))
    # Any more, and a unit could be left closed.
    most = (need + max(pack.content for pack in usable) - 1) // grain
    table: _Table = [None] * (most + 1)
    table[0] = ((0, 0, 0, 0), None)
    for _, of_lot in groupby(range(len(usable)), key=lambda number: usable[number].lot):
        table = _with_lot(table, usable, list(of_lot), grain)
    ways = enumerate(table[-(-need // grain) :], start=-(-need // grain))
    rank, last = min(
        (
            (_rank(content * grain - need, way[0], preference), way[1])
            for content, way in ways
            if way is not None
        ),
        key=lambda found: found[0],
    )
    return Choice(_counts(last, usable), rank)


def choose_apart(
    needs: Sequence[int], packs: Sequence[Pack], preference: Preference
) -> list[Choice]:
    """
    What to open for each of several needs that share no unit, best for all of them together.

    Where the best for each takes more of a pack than there is, every way to deal its units out is
    tried, and left as soon as it cannot beat the best that was found. If that takes more than
    `MOST_LOOKS` looks, far beyond any face, the needs are served one after another, the largest
    first: enough for each, perhaps not the best for all.

    Raises:
        NotEnoughError: no way to deal the units out meets every need.
    """
    try:
        search = _Search(packs, preference)
        best = search.apart(needs, [list(packs) for _ in needs], None)
    except _TooManyLooksError:
        best = _one_after_another(needs, packs, preference)
    if best is None:
        held = sum(pack.content * pack.units for pack in packs)
        raise NotEnoughError(max(1, sum(needs) - held))
    return best


class _TooManyLooksError(Exception):
    """The search was given up."""


@dataclass
class _Search:
    """Branch and bound over how disputed packs are dealt out to needs."""

    packs: Sequence[Pack]
    preference: Preference
    looks: int = 0

    def apart(
        self, needs: Sequence[int], shelves: list[list[Pack]], best: list[Choice] | None
    ) -> list[Choice] | None:
        self.looks += 1
        if self.looks > MOST_LOOKS:
            raise _TooManyLooksError
        try:
            each = [
                choose(need, shelf, self.preference)
                for need, shelf in zip(needs, shelves, strict=True)
            ]
        except NotEnoughError:
            return best
        if best is not None and together(each) >= together(best):
            return best
        disputed = self._disputed(each)
        if disputed is None:
            return each
        for shares in _dealt(self.packs[disputed].units, len(needs)):
            limited = [
                [
                    replace(pack, units=min(pack.units, share)) if number == disputed else pack
                    for number, pack in enumerate(shelf)
                ]
                for shelf, share in zip(shelves, shares, strict=True)
            ]
            best = self.apart(needs, limited, best)
        return best

    def _disputed(self, each: list[Choice]) -> int | None:
        """The first pack of which more is chosen than there is."""
        for number, pack in enumerate(self.packs):
            if sum(choice.units.get(pack.key, 0) for choice in each) > pack.units:
                return number
        return None


def _one_after_another(
    needs: Sequence[int], packs: Sequence[Pack], preference: Preference
) -> list[Choice] | None:
    """Each need from what those before it left; None if that is not enough."""
    left = list(packs)
    found: dict[int, Choice] = {}
    for index in sorted(range(len(needs)), key=lambda number: -needs[number]):
        try:
            choice = choose(needs[index], left, preference)
        except NotEnoughError:
            return None
        found[index] = choice
        left = [replace(pack, units=pack.units - choice.units.get(pack.key, 0)) for pack in left]
    return [found[index] for index in range(len(needs))]


def together(choices: Iterable[Choice]) -> tuple[int, ...]:
    return tuple(map(sum, zip(*(choice.rank for choice in choices), strict=True)))


def _dealt(units: int, needs: int) -> Iterator[tuple[int, ...]]:
    """Every way to deal all units out."""
    if needs == 1:
        yield (units,)
        return
    for first in range(units + 1):
        yield from ((first, *rest) for rest in _dealt(units - first, needs - 1))


def _rank(waste: int, score: Score, preference: Preference) -> tuple[int, ...]:
    cost, *rest = score
    return (waste, cost, *rest) if preference is Preference.WASTE else (cost, waste, *rest)


def _with_lot(table: _Table, packs: Sequence[Pack], of_lot: list[int], grain: int) -> _Table:
    """The table when units of one more lot may be opened; the lot counts once."""
    without = table
    using: _Table = [None] * len(table)
    for number in of_lot:
        for units in _chunks(packs[number].units):
            using = _with_chunk(without, using, packs[number], number, units, grain)
    return [
        min((way for way in ways if way is not None), key=lambda way: way[0], default=None)
        for ways in zip(without, using, strict=True)
    ]


def _with_chunk(
    without: _Table, using: _Table, pack: Pack, number: int, units: int, grain: int
) -> _Table:
    """`using` when so many units of the pack may be opened as well, all of them or none."""
    shift = units * pack.content // grain
    cost, days = units * pack.price, units * pack.expires_on.toordinal()
    found = list(using)
    for content in range(len(using) - shift):
        for way, lots in ((without[content], 1), (using[content], 0)):
            if way is None:
                continue
            score = way[0]
            reached = (score[0] + cost, score[1] + lots, score[2] + units, score[3] + days)
            other = found[content + shift]
            if other is None or reached < other[0]:
                found[content + shift] = (reached, _Step(number, units, way[1]))
    return found


def _chunks(units: int) -> Iterator[int]:
    """1, 2, 4 ... and the rest: every number up to `units` is the sum of some of them."""
    size = 1
    while units:
        taken = min(size, units)
        yield taken
        units -= taken
        size *= 2


def _counts(last: _Step | None, packs: Sequence[Pack]) -> dict[Hashable, int]:
    counts: dict[Hashable, int] = {}
    while last is not None:
        key = packs[last.pack].key
        counts[key] = counts.get(key, 0) + last.units
        last = last.before
    return counts
