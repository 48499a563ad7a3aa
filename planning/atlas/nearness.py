"""
Whether a place lies close to a vessel that the chart draws.

An aid to caution and nothing more: the drawn line is a mean or a guess, this patient's vessel may
run elsewhere, and far from every line is not safe. Nothing is ever refused because of it.

All in whole tenths of a millimetre, so that tablet and server find the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import isqrt

from planning.atlas.geometry import Cell, sample, smooth, to_cells
from planning.atlas.overlays import Vessel, sides_of
from planning.atlas.vessels import VESSELS
from planning.vocabulary import Jaw, View

NEAR_VESSEL_DMM = 50
"""
5 mm: a choice of this chart, no published limit. It is about one standard deviation of where the
facial artery was found (± 5.4 mm beside the mouth corner, ± 4.5 mm beside the ala: Yang 2014, 60
half faces), so that roughly a third of people have theirs farther from the line than that.
"""

_STEP_MM = 1.0


@dataclass(frozen=True)
class NearVessel:
    """A vessel near a place, and how far its drawn line is, in whole tenths of a millimetre."""

    vessel: Vessel
    distance_dmm: int

    @property
    def text(self) -> str:
        """What the page says about it."""
        return (
            f"{self.vessel.name}: the drawn line is {self.distance_dmm / 10:g} mm away. "
            f"Usual depth: {self.vessel.depth}."
        )


@lru_cache(maxsize=32)
def vessel_lines(view: View, jaw: Jaw) -> tuple[tuple[Vessel, tuple[tuple[Cell, ...], ...]], ...]:
    """
    Each vessel that a view draws, with its lines as (x, y) in tenths of a millimetre, about 1 mm
    from corner to corner; both halves where the view shows both. None on a photograph.
    """
    found = []
    for vessel in VESSELS:
        lines = tuple(
            tuple(to_cells(sample(smooth(points), _STEP_MM)))
            for course in vessel.on(view)
            for points in sides_of(view, course, jaw)
        )
        if lines:
            found.append((vessel, lines))
    return tuple(found)


# A tablet is told of each point's vessels again and again while more are added.
@lru_cache(maxsize=4096)
def near_vessels(
    view: View, x_dmm: int, y_dmm: int, jaw: Jaw = Jaw.AVERAGE
) -> tuple[NearVessel, ...]:
    """
    The vessels whose drawn line passes within `NEAR_VESSEL_DMM` of a place, nearest first.

    Args:
        x_dmm, y_dmm: tenths of a millimetre in the view's coordinates.
    """
    found = []
    for vessel, lines in vessel_lines(view, jaw):
        square = min(
            (
                _square(start, end, (x_dmm, y_dmm))
                for line in lines
                for start, end in pairwise(line)
            ),
            key=lambda fraction: fraction[0] / fraction[1],
        )
        if square[0] <= NEAR_VESSEL_DMM**2 * square[1]:
            found.append(NearVessel(vessel, _root(*square)))
    return tuple(sorted(found, key=lambda near: (near.distance_dmm, near.vessel.key)))


def _square(start: Cell, end: Cell, place: Cell) -> tuple[int, int]:
    """Squared distance of a place from a stretch of line, as an exact fraction (over, under)."""
    across, down = end[0] - start[0], end[1] - start[1]
    x, y = place[0] - start[0], place[1] - start[1]
    length = across * across + down * down
    along = x * across + y * down
    if along <= 0 or length == 0:
        return x * x + y * y, 1
    if along >= length:
        return (place[0] - end[0]) ** 2 + (place[1] - end[1]) ** 2, 1
    return (x * down - y * across) ** 2, length


def _root(over: int, under: int) -> int:
    """The square root of a fraction as the nearest whole number, without a float."""
    return (isqrt(4 * over // under) + 1) // 2
