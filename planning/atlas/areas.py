"""
The regions of a view as areas that can be touched and shaded: an <svg> to lie over the drawing.

Each region is a link of its own, reached by keyboard in the order of the regions, with one path a
side, so that each side is shaded by itself. A shade is a class for the style sheet, and a short
text in the middle of the area, so that nothing is told by colour alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from html import escape

from planning.atlas.drawing import SCREEN_BOXES
from planning.atlas.geometry import Cell, number
from planning.atlas.locate import place_inside
from planning.atlas.region_map import Shape, half_rings, shape_of
from planning.atlas.regions import Region
from planning.vocabulary import Jaw, Side, View


@dataclass(frozen=True, slots=True)
class Shade:
    """How one side of a region is shown. `name` becomes the class `area--<name>`."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Area:
    """
    One region of the overlay.

    Attributes:
        label: what it is and how it stands, read aloud and shown under the pointer.
        href: where a touch leads; "" draws it without a link.
        shades: how each side is shown; a side that is missing stays bare, MIDLINE is the whole.
    """

    region: Region
    label: str
    href: str = ""
    shades: Mapping[Side, Shade] = field(default_factory=dict)

    def shade(self, side: Side) -> Shade | None:
        return self.shades.get(side) or self.shades.get(Side.MIDLINE)


def draw_areas(
    view: View, jaw: Jaw, area_of: Callable[[Region], Area | None], *, label: str
) -> str:
    """
    The overlay of one view, in the frame that the screen shows (`SCREEN_BOXES`).

    Args:
        area_of: what is known of a region; None leaves the region out.
        label: what the whole is, read aloud.
    """
    box = " ".join(str(value) for value in SCREEN_BOXES[view])
    known = ((area_of(region), halves) for region, halves in _outlines(view, jaw))
    body = "".join(_area(area, halves) for area, halves in known if area)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="areas" viewBox="{box}" role="group" '
        f'aria-label="{escape(label)}" data-view="{view}">{body}</svg>'
    )


@dataclass(frozen=True, slots=True)
class _Half:
    """One side of a region on one view: its path and where a text stands, in mm."""

    side: Side
    path: str
    middle: tuple[float, float]


def _area(area: Area, halves: tuple[_Half, ...]) -> str:
    shown = "".join(_half(area, half) for half in halves) + _texts(area, halves)
    title = f"<title>{escape(area.label)}</title>"
    name = f'class="areas__region" data-region="{area.region}"'
    if not area.href:
        return f"<g {name}>{title}{shown}</g>"
    link = f'href="{escape(area.href)}" aria-label="{escape(area.label)}"'
    return f"<a {name} {link}>{title}{shown}</a>"


def _half(area: Area, half: _Half) -> str:
    shade = area.shade(half.side)
    kind = f" area--{shade.name}" if shade else ""
    return f'<path class="area{kind}" data-side="{half.side}" d="{half.path}"/>'


def _texts(area: Area, halves: tuple[_Half, ...]) -> str:
    """A region graded as a whole says so once, where both of its sides are drawn."""
    is_whole = Side.MIDLINE in area.shades and len(halves) == 2
    texts = []
    for half in halves:
        shade = area.shade(half.side)
        x, y = half.middle
        if is_whole:
            x = 0.0
        text = "" if shade is None or (is_whole and half.side is Side.RIGHT) else shade.text
        texts.append(
            f'<text class="area__text" data-side="{half.side}" data-x="{number(half.middle[0])}" '
            f'x="{number(x)}" y="{number(y)}">{escape(text)}</text>'
        )
    return "".join(texts)


@lru_cache(maxsize=16)
def _outlines(view: View, jaw: Jaw) -> tuple[tuple[Region, tuple[_Half, ...]], ...]:
    """Each region that a view shows, in the order of `Region`, with its sides."""
    rings = half_rings(view, jaw)
    return tuple(
        (region, _halves(view, jaw, region, rings[region])) for region in Region if region in rings
    )


def _halves(view: View, jaw: Jaw, region: Region, ring: tuple[Cell, ...]) -> tuple[_Half, ...]:
    mirrored = tuple((-x, y) for x, y in ring)
    if view is View.RIGHT:
        sides = {Side.RIGHT: ring}
    elif view is View.LEFT:
        sides = {Side.LEFT: mirrored}
    else:
        sides = {Side.RIGHT: mirrored, Side.LEFT: ring}
    halves = []
    for side, cells in sides.items():
        shape = shape_of(view, region, side, jaw)
        if shape is None:  # cannot be: the ring is of this view
            raise ValueError(f"{region.label} is not on the {view.label.lower()} view")
        halves.append(_Half(side, _path(cells), _middle(view, shape, side, jaw)))
    return tuple(halves)


def _middle(view: View, shape: Shape, side: Side, jaw: Jaw) -> tuple[float, float]:
    found = place_inside(view, shape, side, jaw)
    if found is None:  # a sliver: the middle of its box
        left, top, right, bottom = shape.box
        found = (left + right) // 2, (top + bottom) // 2
    return found[0] / 10, found[1] / 10


def _path(cells: tuple[Cell, ...]) -> str:
    return "M" + "L".join(f"{number(x / 10)} {number(y / 10)}" for x, y in cells) + "Z"
