"""
Which lot serves which region, so that as few regions as possible get two lots.

Regions and lots that are tied together by regions of several lots form a cluster. A cluster of g
lots needs at least g - 1 further lots for its regions and, filled one lot after the other, no more.
So the fewest are found by the partition of the lots into the most clusters that can each hold some
of the regions whole.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence

MOST_LOTS = 6
"""Partitions of so many lots are tried (203 of 6); more lots are used up one after another."""
MOST_STATES = 20_000

Share = tuple[Hashable, Hashable, int]
"""Region, lot and amount."""


def share_out(needs: Mapping[Hashable, int], lots: Mapping[Hashable, int]) -> list[Share]:
    """
    What each region gets of which lot; together the lots hold all that is needed.

    Args:
        needs: by region, in the base unit.
        lots: what the chosen units of a lot hold, in the order in which they are used up.
    """
    regions = sorted(needs, key=lambda region: (-needs[region], str(region)))
    for clusters in _partitions(list(lots)):
        rooms = [sum(lots[lot] for lot in cluster) for cluster in clusters]
        places = _packed([needs[region] for region in regions], rooms)
        if places is not None:
            return [
                share
                for number, cluster in enumerate(clusters)
                for share in _filled(
                    [(r, needs[r]) for r, place in zip(regions, places, strict=True)
                     if place == number],
                    [(lot, lots[lot]) for lot in cluster],
                )
            ]  # fmt: skip
    raise ValueError("The lots hold less than is needed.")


def _partitions(lots: list[Hashable]) -> Iterator[list[list[Hashable]]]:
    """All ways to part the lots, those with the most clusters first; of many lots only one."""
    if len(lots) > MOST_LOTS:
        yield [lots]
        return
    yield from sorted(_all_partitions(lots), key=len, reverse=True)


def _all_partitions(lots: list[Hashable]) -> Iterator[list[list[Hashable]]]:
    if not lots:
        yield []
        return
    first, rest = lots[0], lots[1:]
    for clusters in _all_partitions(rest):
        yield [[first], *clusters]
        for number, cluster in enumerate(clusters):
            yield [*clusters[:number], [first, *cluster], *clusters[number + 1 :]]


def _packed(needs: Sequence[int], rooms: Sequence[int]) -> list[int] | None:
    """
    A room for each need, each need in one room; None where that cannot be.

    Tried need by need over the room that is left, equal states once.
    """
    states: dict[tuple[int, ...], tuple[int, ...]] = {tuple(rooms): ()}
    for need in needs:
        reached: dict[tuple[int, ...], tuple[int, ...]] = {}
        for left, places in states.items():
            for number, room in enumerate(left):
                if room >= need:
                    after = (*left[:number], room - need, *left[number + 1 :])
                    reached.setdefault(after, (*places, number))
            if len(reached) > MOST_STATES:
                break
        states = reached
    return list(next(iter(states.values()))) if states else None


def _filled(needs: list[tuple[Hashable, int]], lots: list[tuple[Hashable, int]]) -> Iterator[Share]:
    """One lot after the other."""
    queue = iter(lots)
    lot, room = next(queue)
    for region, need in needs:
        while need:
            if not room:
                lot, room = next(queue)
            amount = min(need, room)
            yield region, lot, amount
            need, room = need - amount, room - amount
