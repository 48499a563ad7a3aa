"""
Where a tap on the face chart falls.

Coordinates are whole tenths of a millimetre (`x_dmm`, `y_dmm`) in the coordinates of the drawing:
origin at nasion (hands: between the wrists), x to the viewer's right, y down, in every view. Where
a view shows both sides the viewer's right is the patient's left. The right view looks to the
viewer's right, so x points forward; the left view is its mirror image, so x points backward.

A photograph has no drawing: there the injector says region and side.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from planning.atlas.region_map import Shape, found, shape_of
from planning.atlas.regions import MIDLINE_REGIONS, Region
from planning.vocabulary import Jaw, Side, View

MIDLINE_HALF_WIDTH_DMM = 20
"""A place within 2 mm of the midline counts as midline: a choice of this chart, no source."""

_LIMIT_DMM = 10_000  # a metre: more is not a place on any chart


class NotOnFace(ValueError):
    """The place lies on none of the chart's regions."""


class NotOnView(ValueError):
    """The view does not show this side of the face."""


@dataclass(frozen=True)
class Location:
    """
    A place as the record keeps it, independent of how the chart is drawn.

    `relative_x_permille`, `relative_y_permille`: thousandths (0..1000) of the box round the
    region's shape, from the viewer's left and from the top. A midline region's box spans both
    halves.
    """

    region: Region
    side: Side
    relative_x_permille: int
    relative_y_permille: int


def locate(view: View, x_dmm: int, y_dmm: int, jaw: Jaw = Jaw.AVERAGE) -> Location:
    """
    Region, side and relative place of a tap.

    A place on a border belongs to one region only: to the one farther from the midline, on the
    right view to the one farther forward, mirrored on the other side; on a level border to the
    region below.

    Raises:
        NotOnFace: no region there.
        TypeError: a coordinate is not a whole number.
    """
    _check(x_dmm, y_dmm)
    if not view.is_drawn:
        raise NotOnFace("A photograph has no regions of its own. Choose region and side.")
    mirrored = view is View.LEFT or (view is not View.RIGHT and x_dmm < 0)
    region = found(view, -x_dmm if mirrored else x_dmm, y_dmm, jaw)
    if region is None:
        raise NotOnFace(
            f"No region lies at x {x_dmm / 10:g} mm, y {y_dmm / 10:g} mm on the "
            f"{view.label.lower()} view. Tap inside the outline."
        )
    side = _side(view, region, x_dmm)
    shape = shape_of(view, region, side, jaw)
    if shape is None:  # cannot be: the region was found on this view
        raise NotOnFace(f"{region.label} is not on the {view.label.lower()} view.")
    left, top, right, bottom = shape.box
    return Location(
        region=region,
        side=side,
        relative_x_permille=_permille(x_dmm - left, right - left),
        relative_y_permille=_permille(y_dmm - top, bottom - top),
    )


def place(
    view: View,
    region: Region,
    side: Side,
    relative_x_permille: int,
    relative_y_permille: int,
    jaw: Jaw = Jaw.AVERAGE,
) -> tuple[int, int]:
    """
    The other way round: (x_dmm, y_dmm) of a relative place, to draw an old point on a new chart.

    Raises:
        NotOnView: the view does not show that region and side.
    """
    shape = shape_of(view, region, side, jaw)
    if shape is None:
        raise NotOnView(
            f"The {view.label.lower()} view does not show the {side.label.lower()} {region.label}."
        )
    left, top, right, bottom = shape.box
    return (
        left + round(Fraction(relative_x_permille * (right - left), 1000)),
        top + round(Fraction(relative_y_permille * (bottom - top), 1000)),
    )


def mirror(view: View, x_dmm: int, y_dmm: int) -> tuple[View, int, int]:
    """
    The same place on the other side of the face: (view, x_dmm, y_dmm).

    A view of both sides stays and x changes its sign; a side view becomes the other side view,
    which is drawn as its mirror image, so x changes its sign there too.

    Raises:
        NotOnView: a photograph has no middle to mirror at.
    """
    _check(x_dmm, y_dmm)
    if not view.is_drawn:
        raise NotOnView("A photograph has no other side. Tap the place yourself.")
    return view.opposite, -x_dmm, y_dmm


def _side(view: View, region: Region, x_dmm: int) -> Side:
    if view is View.LEFT:
        return Side.LEFT
    if view is View.RIGHT:
        return Side.RIGHT
    if region in MIDLINE_REGIONS and abs(x_dmm) <= MIDLINE_HALF_WIDTH_DMM:
        return Side.MIDLINE
    return Side.LEFT if x_dmm > 0 else Side.RIGHT


def _permille(part: int, whole: int) -> int:
    """Nearest thousandth, halves to even so that both sides of the face round alike."""
    return min(1000, max(0, round(Fraction(part * 1000, whole))))


def _check(*values_dmm: int) -> None:
    """Refuse what is not a place: fractions, and more than a metre away."""
    for value in values_dmm:
        if isinstance(value, bool) or not isinstance(value, int):
            raise TypeError(f"coordinates are whole tenths of a millimetre, got {value!r}")
        if abs(value) > _LIMIT_DMM:
            raise NotOnFace(f"{value / 10:g} mm is outside the chart.")


def place_inside(view: View, shape: Shape, side: Side, jaw: Jaw) -> tuple[int, int] | None:
    """
    A place well inside a shape, on one side of it: of a 3 mm grid over the shape's box, the place
    of this region and side nearest their mean. None where no place of the grid is.
    """
    left, top, right, bottom = shape.box
    inside = []
    for x in range(left + 5, right, 30):
        for y in range(top + 5, bottom, 30):
            try:
                location = locate(view, x, y, jaw)
            except NotOnFace:
                continue
            if (location.region, location.side) == (shape.region, side):
                inside.append((x, y))
    if side is Side.MIDLINE:
        inside = [(0, y) for _, y in inside]
    if not inside:
        return None
    mean_x = sum(x for x, _ in inside) // len(inside)
    mean_y = sum(y for _, y in inside) // len(inside)
    return min(inside, key=lambda at: (at[0] - mean_x) ** 2 + (at[1] - mean_y) ** 2)
