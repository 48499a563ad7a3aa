"""
From planned amounts to units: what is open for the patient is used first, then the shelf.

A unit gives one product, to one patient and, unless the clinic decides otherwise, in one plane. It
computes what to open; what expires, is in quarantine or is reserved for somebody else is not given
to it as on the shelf.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import product as product_of
from typing import Any

from planning.allocation.lots import share_out
from planning.allocation.shelf import (
    Choice,
    NotEnoughError,
    Pack,
    Preference,
    choose_apart,
    together,
)


@dataclass(frozen=True, slots=True)
class PlannedAmount:
    """One line of a plan. Both sides of a region are two lines with the same `region`."""

    key: Hashable
    product: Hashable
    region: Hashable
    plane: str
    amount: int

    def __post_init__(self) -> None:
        if self.amount <= 0:
            raise ValueError("A planned amount must be above 0.")


@dataclass(frozen=True, slots=True)
class OpenUnit:
    """A unit that is open for this patient already, or shared and in use."""

    key: Hashable
    product: Hashable
    lot: Hashable
    remaining: int


@dataclass(frozen=True, slots=True)
class Draw:
    """What a line gets from one unit. `unit` is an open unit's key, or the pack's and a number."""

    line: Hashable
    unit: Hashable
    lot: Hashable
    amount: int


@dataclass(frozen=True, slots=True)
class Shortage:
    """What the shelf lacks of a product, in the base unit: at least so much."""

    product: Hashable
    missing: int


@dataclass(frozen=True, slots=True)
class Allocation:
    """
    Attributes:
        opened: how many units of each pack are opened, by the pack's key.
        draws: each line's amount, in the order in which units are used up.
        waste: content that is opened or open and not planned, by product.
        cost: of what is opened.
        shortages: needs that are left out because the shelf does not hold them.
    """

    opened: dict[Hashable, int]
    draws: tuple[Draw, ...]
    waste: dict[Hashable, int]
    cost: int
    shortages: tuple[Shortage, ...]


@dataclass
class _Unit:
    key: Hashable
    lot: Hashable
    left: int


def allocate(
    lines: Iterable[PlannedAmount],
    packs: Sequence[Pack],
    open_units: Sequence[OpenUnit] = (),
    *,
    preference: Preference = Preference.WASTE,
    one_plane_a_unit: bool = True,
) -> Allocation:
    """
    Units for every line, least waste or cost first (see `shelf.choose_apart`), regions whole in one
    lot where the units allow it (see `lots.share_out`).

    What is open is used first, in the plane where it saves most.
    """
    result = _Result()
    by_product: dict[Hashable, list[PlannedAmount]] = {}
    for line in lines:
        by_product.setdefault(line.product, []).append(line)
    for product, of_product in by_product.items():
        shelf = [pack for pack in packs if pack.product == product]
        in_use = [unit for unit in open_units if unit.product == product]
        groups = _groups(of_product, one_plane_a_unit)
        _serve(result, product, groups, shelf, in_use, preference)
    idle = [unit for unit in open_units if unit.product not in by_product]
    for unit in idle:
        result.waste[unit.product] = result.waste.get(unit.product, 0) + unit.remaining
    cost = sum(pack.price * result.opened.get(pack.key, 0) for pack in packs)
    return Allocation(
        result.opened, tuple(result.draws), result.waste, cost, tuple(result.shortages)
    )


@dataclass
class _Result:
    opened: dict[Hashable, int] = field(default_factory=dict)
    draws: list[Draw] = field(default_factory=list)
    waste: dict[Hashable, int] = field(default_factory=dict)
    shortages: list[Shortage] = field(default_factory=list)


def _groups(lines: Iterable[PlannedAmount], one_plane_a_unit: bool) -> list[list[PlannedAmount]]:
    """Lines that may share a unit."""
    groups: dict[str, list[PlannedAmount]] = {}
    for line in lines:
        groups.setdefault(line.plane if one_plane_a_unit else "", []).append(line)
    return list(groups.values())


def _serve(
    result: _Result,
    product: Hashable,
    groups: list[list[PlannedAmount]],
    shelf: Sequence[Pack],
    in_use: list[OpenUnit],
    preference: Preference,
) -> None:
    """All planes of one product, or none: a plan that is short of product is not half opened."""
    needs = [sum(line.amount for line in group) for group in groups]
    total = sum(unit.remaining for unit in in_use)
    try:
        taken, chosen = _best(needs, shelf, in_use, preference)
    except NotEnoughError as error:
        result.shortages.append(Shortage(product, error.missing))
        result.waste[product] = total
        return
    for group, units, choice in zip(groups, taken, chosen, strict=True):
        pool = [_Unit(unit.key, unit.lot, unit.remaining) for unit in units]
        pool += _new_units(choice.units, shelf, result.opened)
        for key, count in choice.units.items():
            result.opened[key] = result.opened.get(key, 0) + count
        result.draws += _draws(group, pool)
    content = sum(pack.content * result.opened.get(pack.key, 0) for pack in shelf)
    result.waste[product] = content + total - sum(needs)


def _best(
    needs: Sequence[int], shelf: Sequence[Pack], in_use: list[OpenUnit], preference: Preference
) -> tuple[list[list[OpenUnit]], list[Choice]]:
    """Which group gets which open unit, and what is opened besides: every way to deal them."""
    found: list[tuple[list[int], int, list[list[OpenUnit]], list[Choice]]] = []
    lacking = NotEnoughError(0)
    for owners in product_of(range(len(needs)), repeat=len(in_use)):
        taken = [
            [unit for unit, owner in zip(in_use, owners, strict=True) if owner == group]
            for group in range(len(needs))
        ]
        left = [
            max(0, need - sum(unit.remaining for unit in units))
            for need, units in zip(needs, taken, strict=True)
        ]
        try:
            chosen = choose_apart(left, shelf, preference)
        except NotEnoughError as error:
            if not lacking.missing or error.missing < lacking.missing:
                lacking = error
            continue
        rank = list(together(chosen))
        # What is left of an open unit is wasted too: the content that is opened is compared.
        rank[0 if preference is Preference.WASTE else 1] += sum(left)
        found.append((rank, len(found), taken, chosen))
    if not found:
        raise lacking
    _, _, taken, chosen = min(found)
    return taken, chosen


def _new_units(
    chosen: dict[Hashable, int], shelf: Sequence[Pack], opened: dict[Hashable, int]
) -> list[_Unit]:
    """The chosen units, the earliest expiry first; numbered behind those another plane takes."""
    return [
        _Unit((pack.key, opened.get(pack.key, 0) + number), pack.lot, pack.content)
        for pack in sorted(shelf, key=lambda pack: (pack.expires_on, str(pack.lot)))
        for number in range(1, chosen.get(pack.key, 0) + 1)
    ]


def _draws(group: Sequence[PlannedAmount], units: list[_Unit]) -> Iterable[Draw]:
    needs: dict[Hashable, int] = {}
    for line in group:
        needs[line.region] = needs.get(line.region, 0) + line.amount
    rooms: dict[Hashable, int] = {}
    for unit in units:
        rooms[unit.lot] = rooms.get(unit.lot, 0) + unit.left
    of_lot = {lot: deque(unit for unit in units if unit.lot == lot) for lot in rooms}
    waiting: dict[Hashable, deque[list[Any]]] = {region: deque() for region in needs}
    for line in group:
        waiting[line.region].append([line.key, line.amount])
    for region, lot, amount in share_out(needs, rooms):
        yield from _poured(waiting[region], of_lot[lot], lot, amount)


def _poured(
    waiting: deque[list[Any]], units: deque[_Unit], lot: Hashable, amount: int
) -> Iterable[Draw]:
    """So much of the lot's units into the region's lines, in the order of both."""
    while amount:
        line, unit = waiting[0], units[0]
        part = min(amount, line[1], unit.left)
        yield Draw(line[0], unit.key, lot, part)
        amount, line[1], unit.left = amount - part, line[1] - part, unit.left - part
        if not line[1]:
            waiting.popleft()
        if not unit.left:
            units.popleft()
