"""
From border lines to closed regions without gap or overlap.

Borders are smooth curves that meet only in shared points. They are sampled once, rounded to whole
tenths of a millimetre, and the closed shapes between them are traced: two neighbours share every
vertex of their border, so no place is in both and none is lost. A seed place names each shape.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cmp_to_key
from itertools import pairwise

from planning.atlas.geometry import Cell, Point, contains, doubled_area, sample, smooth
from planning.atlas.regions import Region

Segment = tuple[Cell, Cell]


class ChartError(ValueError):
    """The border lines of the chart do not close into the named regions."""


@dataclass(frozen=True)
class Border:
    """
    One border line, millimetres.

    `points` is the whole curve as drawn; `start` and `end` (points of it) cut out the stretch that
    is a border. `straight` joins the points by straight lines.
    """

    points: tuple[Point, ...]
    start: Point | None = None
    end: Point | None = None
    straight: bool = False

    def sampled(self) -> list[Point]:
        curves = smooth(self.points, tension=0 if self.straight else 0.5)
        first = 0 if self.start is None else self.points.index(self.start)
        last = len(self.points) - 1 if self.end is None else self.points.index(self.end)
        return sample(curves[first:last])


def traced(lines: Sequence[Sequence[Cell]]) -> list[tuple[Cell, ...]]:
    """
    All closed shapes between the lines (rings of cells, outer shape left out).

    Raises:
        ChartError: a line ends where no other begins.
    """
    segments = _segments(lines)
    around: dict[Cell, list[Cell]] = {}
    for start, end in segments:
        around.setdefault(start, []).append(end)
    for here, others in around.items():
        if len(others) < 2:
            raise ChartError(f"a border ends loose at {here} (tenths of a millimetre)")
        others.sort(key=cmp_to_key(_by_angle(here)))
    rings: list[tuple[Cell, ...]] = []
    left = set(segments)
    while left:
        ring = _walk(min(left), around, left)
        if _turns_inward(ring):
            rings.append(ring)
    return rings


def _segments(lines: Sequence[Sequence[Cell]]) -> set[Segment]:
    """Every piece of every line, in both directions, repeated points dropped."""
    found: set[Segment] = set()
    for line in lines:
        for start, end in pairwise(line):
            if start != end:
                found |= {(start, end), (end, start)}
    return found


def _walk(first: Segment, around: dict[Cell, list[Cell]], left: set[Segment]) -> tuple[Cell, ...]:
    """Follow one shape, always taking the next piece in turning order, and cross off its pieces."""
    ring: list[Cell] = []
    start, end = first
    while (start, end) in left:
        left.remove((start, end))
        ring.append(start)
        others = around[end]
        following = others[(others.index(start) + 1) % len(others)]
        start, end = end, following
    return tuple(ring)


def _by_angle(centre: Cell) -> Callable[[Cell, Cell], int]:
    """Compare two neighbours of `centre` by direction, exactly (half-plane, then cross product)."""

    def half(cell: Cell) -> int:
        x, y = cell[0] - centre[0], cell[1] - centre[1]
        return 0 if (y > 0 or (y == 0 and x > 0)) else 1

    def compare(a: Cell, b: Cell) -> int:
        if half(a) != half(b):
            return half(a) - half(b)
        cross = (a[0] - centre[0]) * (b[1] - centre[1]) - (a[1] - centre[1]) * (b[0] - centre[0])
        return -1 if cross > 0 else (1 if cross < 0 else 0)

    return compare


def _turns_inward(ring: Sequence[Cell]) -> bool:
    """Whether the walk went round a bounded shape (the outside is walked the other way)."""
    total = 0
    x1, y1 = ring[-1]
    for x2, y2 in ring:
        total += x1 * y2 - x2 * y1
        x1, y1 = x2, y2
    return total < 0


def named(
    rings: Sequence[tuple[Cell, ...]], seeds: dict[Region, Cell]
) -> dict[Region, tuple[Cell, ...]]:
    """
    Give each ring the region whose seed lies in it.

    Raises:
        ChartError: a ring without a seed, or seeds that do not lie in a ring of their own.
    """
    found: dict[Region, tuple[Cell, ...]] = {}
    for ring in rings:
        inside = [region for region, seed in seeds.items() if contains(ring, *seed)]
        if len(inside) != 1:
            raise ChartError(
                f"the shape at {ring[0]} with area {doubled_area(ring) // 200} mm² holds "
                f"{len(inside)} seeds: {[str(region) for region in inside]}"
            )
        found[inside[0]] = ring
    missing = set(seeds) - set(found)
    if missing:
        raise ChartError(f"no shape for {sorted(missing)}")
    return found
