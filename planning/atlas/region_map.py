"""The regions of each view as closed shapes, in whole tenths of a millimetre."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

from planning.atlas.geometry import Cell, contains, to_cells
from planning.atlas.hand_map import HAND_BORDERS, HAND_SEEDS
from planning.atlas.jaw import shaped
from planning.atlas.neck_map import NECK_BORDERS, NECK_SEEDS
from planning.atlas.partition import named, traced
from planning.atlas.region_borders import (
    FRONT_BORDERS,
    FRONT_SEEDS,
    SIDE_BORDERS,
    SIDE_SEEDS,
)
from planning.atlas.regions import MIDLINE_REGIONS, Region
from planning.vocabulary import Jaw, Side, View

# left, top, right, bottom
Box = tuple[int, int, int, int]

DRAWN_VIEWS: tuple[View, ...] = tuple(view for view in View if view.is_drawn)

_BORDERS = {
    View.FRONT: (FRONT_BORDERS, FRONT_SEEDS),
    View.RIGHT: (SIDE_BORDERS, SIDE_SEEDS),
    View.LEFT: (SIDE_BORDERS, SIDE_SEEDS),
    View.NECK: (NECK_BORDERS, NECK_SEEDS),
    View.HANDS: (HAND_BORDERS, HAND_SEEDS),
}
_WITH_JAW = frozenset({View.FRONT, View.NECK})


@dataclass(frozen=True)
class Shape:
    """
    One closed shape on one view.

    `side` is None for a region that crosses the midline of the front or the neck view: its `ring`
    then holds both halves. Cells are (x, y) in tenths of a millimetre, x to the viewer's right.
    """

    region: Region
    side: Side | None
    ring: tuple[Cell, ...]

    @cached_property
    def box(self) -> Box:
        """left, top, right, bottom in tenths of a millimetre."""
        return _box(self.ring)


def _box(ring: tuple[Cell, ...]) -> Box:
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    return min(xs), min(ys), max(xs), max(ys)


@lru_cache(maxsize=16)
def half_rings(view: View, jaw: Jaw) -> dict[Region, tuple[Cell, ...]]:
    """
    The shapes as constructed: the patient's left half (x >= 0), but the right side in profile.

    The left side view is the mirror image of the right. Jaw width shows in front and on the neck.
    A photograph has no shapes.
    """
    if not view.is_drawn:
        return {}
    borders, seeds = _BORDERS[view]
    sampled = [border.sampled() for border in borders]
    if view in _WITH_JAW:
        sampled = [shaped(line, jaw) for line in sampled]
    cells = {region: to_cells([seed])[0] for region, seed in seeds.items()}
    return named(traced([to_cells(line) for line in sampled]), cells)


def found(view: View, x: int, y: int, jaw: Jaw) -> Region | None:
    """
    The region at a place given in the coordinates of `half_rings`; None outside the face.

    Borders: see `geometry.contains` (a place on a border belongs to the shape on its right, on a
    level border to the one below).
    """
    for region, ring, (left, top, right, bottom) in _boxed_rings(view, jaw):
        if left <= x <= right and top <= y <= bottom and contains(ring, x, y):
            return region
    return None


@lru_cache(maxsize=16)
def _boxed_rings(view: View, jaw: Jaw) -> list[tuple[Region, tuple[Cell, ...], Box]]:
    """`half_rings` with their boxes: most places lie outside of most of them."""
    return [(region, ring, _box(ring)) for region, ring in half_rings(view, jaw).items()]


@lru_cache(maxsize=32)
def shapes(view: View, jaw: Jaw) -> tuple[Shape, ...]:
    """Every closed shape of a view in drawing coordinates, pairs as two shapes."""
    built: list[Shape] = []
    for region, ring in half_rings(view, jaw).items():
        mirrored = tuple((-x, y) for x, y in reversed(ring))
        if view is View.RIGHT:
            built.append(Shape(region, Side.RIGHT, ring))
        elif view is View.LEFT:
            built.append(Shape(region, Side.LEFT, mirrored))
        elif region in MIDLINE_REGIONS:
            built.append(Shape(region, None, _joined(ring)))
        else:
            built += [Shape(region, Side.LEFT, ring), Shape(region, Side.RIGHT, mirrored)]
    return tuple(sorted(built, key=lambda shape: (shape.region, shape.side or "")))


def shape_of(view: View, region: Region, side: Side, jaw: Jaw) -> Shape | None:
    """The shape that holds this region and side on a view; None where the view does not show it."""
    for shape in shapes(view, jaw):
        if shape.region is region and shape.side in (None, side):
            return shape
    return None


def _joined(ring: tuple[Cell, ...]) -> tuple[Cell, ...]:
    """A half that touches the midline in one stretch, made whole."""
    count = len(ring)
    for index in range(count):
        if ring[index][0] > 0 and ring[index - 1][0] == 0:
            turned = ring[index:] + ring[:index]
            break
    else:
        raise ValueError("the shape does not touch the midline")
    away = [cell for cell in turned if cell[0] > 0]
    first, last = turned[-1], turned[len(away)]
    return (first, *away, last, *((-x, y) for x, y in reversed(away)))
