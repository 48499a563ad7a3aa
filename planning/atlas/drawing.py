"""
One view of the face chart as a stand-alone <svg>: the same text for screen and PDF.

One unit is one millimetre. Colours are presentation attributes (WeasyPrint ignores the page's CSS
inside an SVG); every element carries a class by which the screen may recolour it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from html import escape

from planning.atlas import ink
from planning.atlas.front import front
from planning.atlas.geometry import Cell, Point, number, path
from planning.atlas.hands import hands
from planning.atlas.marks import Mark, draw_marks
from planning.atlas.measurements import CHART_VERSION
from planning.atlas.neck import neck
from planning.atlas.overlays import BOTH_SIDES, LANDMARKS, RIDGES, Ridge, Spot, sides_of
from planning.atlas.region_map import Shape, shapes
from planning.atlas.side import side
from planning.atlas.vessels import VESSELS
from planning.vocabulary import Jaw, Side, Term, View

VIEW_BOXES: dict[View, tuple[int, int, int, int]] = {
    View.FRONT: (-98, -100, 196, 264),
    View.RIGHT: (-198, -100, 240, 264),
    View.LEFT: (-42, -100, 240, 264),
    View.NECK: (-132, 66, 264, 190),
    View.HANDS: (-142, -62, 284, 256),
}
"""left, top, width, height in mm."""

SCREEN_BOXES: dict[View, tuple[int, int, int, int]] = {
    View.FRONT: (-79, -80, 158, 216),
    View.RIGHT: (-119, -80, 158, 216),
    View.LEFT: (-39, -80, 158, 216),
    View.NECK: (-132, 74, 264, 180),
    View.HANDS: (-136, -44, 272, 230),
}
"""What a screen shows of each view at first, in mm: the face without the back of the head."""

_RIGHT, _LEFT = "Patient’s right", "Patient’s left"
VIEW_SIDES: dict[View, tuple[str, str]] = dict.fromkeys(VIEW_BOXES, (_RIGHT, _LEFT)) | {
    View.RIGHT: (f"{_RIGHT} side", ""),
    View.LEFT: ("", f"{_LEFT} side"),
}
"""The patient's own side, as written at the start and the end of each view."""

VIEW_NAMES: dict[View, str] = {
    View.FRONT: "Face chart, front view. The patient's right is on the left of the drawing.",
    View.RIGHT: "Face chart, right side of the patient.",
    View.LEFT: "Face chart, left side of the patient.",
    View.NECK: "Neck and upper chest from in front. The patient's right is on the left of the "
    "drawing.",
    View.HANDS: "Backs of both hands, fingers towards you. The patient's right hand is on the left "
    "of the drawing.",
}

VESSEL = "#b23a32"
LANDMARK = "#2f5d7c"


class Layer(Term):
    """What can be laid over the drawing."""

    REGIONS = "regions", "Regions"
    LANDMARKS = "landmarks", "Landmarks"
    VESSELS = "vessels", "Vessels to beware of"
    GRID = "grid", "5 mm grid"


def draw_view(
    view: View,
    jaw: Jaw = Jaw.AVERAGE,
    *,
    layers: frozenset[Layer] = frozenset(),
    marks: Iterable[Mark] = (),
    labels: bool = True,
    width: str = "",
    prefix: str = "",
    mark_scale: float = 1.0,
    frame: tuple[int, int, int, int] | None = None,
) -> str:
    """
    The drawing of one view.

    Args:
        layers: what to lay over the face. Without REGIONS the drawing takes no taps by region.
        marks: points of this view; see `marks.draw_marks`, which the screen may swap in alone.
        labels: write whose side is whose.
        width: an SVG length such as "90mm" (then printed to that size); empty: as wide as its box.
        prefix: start of all ids; give each drawing on one page its own when the same view stands
            there twice.
        mark_scale: how much larger than on screen to draw the marks, see `marks.draw_marks`.
        frame: left, top, width, height in mm to show a part; the view's own box if left out.
    """
    left, top, across, down = frame or VIEW_BOXES[view]
    size = f' width="{escape(width)}"' if width else ""
    name = VIEW_NAMES[view]
    overlays = "".join(
        (
            _grid(view) if Layer.GRID in layers else "",
            _vessels(view, jaw) if Layer.VESSELS in layers else "",
            _landmarks(view, jaw) if Layer.LANDMARKS in layers else "",
            _regions(view, jaw) if Layer.REGIONS in layers else "",
        )
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="atlas atlas-{view}" '
        f'viewBox="{left} {top} {across} {down}"{size} role="img" aria-label="{escape(name)}" '
        f'data-view="{view}" data-jaw="{jaw}" data-chart-version="{CHART_VERSION}">'
        f"{_face(view, jaw, prefix or f'atlas-{view}')}{overlays}"
        f"{_labels(view) if labels else ''}{draw_marks(view, marks, mark_scale=mark_scale)}</svg>"
    )


_JAWED = {View.FRONT: front, View.NECK: neck}


@lru_cache(maxsize=64)
def _face(view: View, jaw: Jaw, prefix: str) -> str:
    if view in BOTH_SIDES:
        whole = hands(prefix) if view is View.HANDS else _JAWED[view](prefix, jaw)
        return f'<g class="atlas-face">{whole}</g>'
    turn = ' transform="scale(-1 1)"' if view is View.LEFT else ""
    return f'<g class="atlas-face"{turn}>{side(prefix)}</g>'


def _regions(view: View, jaw: Jaw) -> str:
    body = "".join(
        f'<path class="region" data-region="{shape.region}" data-side="{shape.side or ""}" '
        f'd="{_ring(shape.ring)}" fill="#ffffff" fill-opacity="0" stroke="{ink.LINE}" '
        f'stroke-opacity="0" stroke-width="0.4"><title>{escape(_title(shape))}</title></path>'
        for shape in shapes(view, jaw)
    )
    return f'<g class="atlas-regions">{body}</g>'


def _title(shape: Shape) -> str:
    name = shape.region.full_label
    return f"{name}, {shape.side.label.lower()}" if shape.side else name


def _ring(ring: tuple[Cell, ...]) -> str:
    return "M" + "L".join(f"{number(x / 10)} {number(y / 10)}" for x, y in ring) + "Z"


def _vessels(view: View, jaw: Jaw) -> str:
    parts: list[str] = []
    for vessel in VESSELS:
        lines = "".join(
            ink.line(points, 1.35, colour="#ffffff", name="vessel-edge", opacity=0.7)
            + ink.pen(
                points, (0.8, 0.75, 0.65, 0.45), colour=VESSEL, name="vessel-line", opacity=0.85
            )
            for course in vessel.on(view)
            for points in sides_of(view, course, jaw)
        )
        if not lines:
            continue
        note = (
            f"{vessel.name}. {vessel.source} ({vessel.mark}). "
            f"Usual depth: {vessel.depth}. {vessel.depth_source} ({vessel.depth_mark})"
        )
        parts.append(
            f'<g class="vessel" data-vessel="{vessel.key}"><title>{escape(note)}</title>{lines}</g>'
        )
    return f'<g class="atlas-vessels">{"".join(parts)}</g>'


def _landmarks(view: View, jaw: Jaw) -> str:
    parts: list[str] = []
    for ridge in RIDGES:
        if course := ridge.on(view):
            lines = "".join(
                _bone(points, closed=ridge.closed) for points in sides_of(view, course, jaw)
            )
            parts.append(_named(ridge, lines))
    for spot in LANDMARKS:
        if at := spot.on(view):
            crosses = "".join(_cross(points[0]) for points in sides_of(view, (at,), jaw))
            parts.append(_named(spot, crosses))
    return f'<g class="atlas-landmarks">{"".join(parts)}</g>'


def _named(item: Spot | Ridge, body: str) -> str:
    note = f"{item.name}. {item.source} ({item.mark})"
    return f'<g class="landmark" data-landmark="{item.key}"><title>{escape(note)}</title>{body}</g>'


def _bone(points: Sequence[Point], *, closed: bool) -> str:
    """A line of bone: dashed, on a white edge, so that it is not taken for a vessel."""
    data = path(points, closed=closed)
    ends = 'fill="none" stroke-linecap="round"'
    return (
        f'<path class="landmark-edge" d="{data}" {ends} stroke="#ffffff" stroke-width="1" '
        'stroke-opacity="0.65"/>'
        f'<path class="landmark-line" d="{data}" {ends} stroke="{LANDMARK}" stroke-width="0.45" '
        'stroke-dasharray="2.2 1.5"/>'
    )


def _cross(at: Point) -> str:
    x, y = at
    arms = (
        f"M{number(x - 1.9)} {number(y)}H{number(x + 1.9)}"
        f"M{number(x)} {number(y - 1.9)}V{number(y + 1.9)}"
    )
    return (
        f'<circle class="landmark-dot" cx="{number(x)}" cy="{number(y)}" r="1.1" fill="#ffffff" '
        f'fill-opacity="0.85" stroke="{LANDMARK}" stroke-width="0.35"/>'
        f'<path class="landmark-cross" d="{arms}" fill="none" stroke="{LANDMARK}" '
        'stroke-width="0.35"/>'
    )


def _grid(view: View) -> str:
    left, top, across, down = VIEW_BOXES[view]
    first_x, first_y = left + (-left % 5), top + (-top % 5)
    lines = "".join(f"M{x} {top}V{top + down}" for x in range(first_x, left + across + 1, 5))
    lines += "".join(f"M{left} {y}H{left + across}" for y in range(first_y, top + down + 1, 5))
    return (
        f'<path class="atlas-grid" d="{lines}" fill="none" stroke="{LANDMARK}" stroke-width="0.12" '
        'stroke-opacity="0.4"/>'
    )


def _labels(view: View) -> str:
    left, top, across, _ = VIEW_BOXES[view]
    near, far, base = left + 3, left + across - 3, top + 8
    texts: tuple[tuple[int, str, Side], ...]
    if view in BOTH_SIDES:
        texts = ((near, "start", Side.RIGHT), (far, "end", Side.LEFT))
    elif view is View.RIGHT:
        texts = ((far, "end", Side.RIGHT),)
    else:
        texts = ((near, "start", Side.LEFT),)
    body = "".join(
        f'<text class="atlas-label" x="{x}" y="{base}" text-anchor="{anchor}" font-size="5.2" '
        f'letter-spacing="0.1" fill="{ink.LINE}">patient\u2019s {side_of.label.lower()}</text>'
        for x, anchor, side_of in texts
    )
    return f'<g class="atlas-labels" font-family="Clinic Sans, sans-serif">{body}</g>'
