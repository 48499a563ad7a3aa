"""
A plan on the chart: for each planned line its amount on a small label inside the region.

Labels have rounded ends, which no mark of a point has; one that was given carries a tick, one that
was given in part a bar. The same text feeds screen and PDF: presentation attributes only, no ids.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from planning.atlas.geometry import number
from planning.atlas.marks import COLOURS, INK
from planning.plan_progress import LineState
from planning.vocabulary import ProductKind, View

FONT_MM = 3.3
HALF_HEIGHT_MM = 2.5
DIGIT_MM = 1.95
_PADDING_MM = 1.7
_SIGN_MM = 3.4
Box = tuple[float, float, float, float]
"""Left, top, right, bottom in millimetres."""

# Tried one after the other until a label lies clear of those before it: right, down in mm.
_SHIFTS = [
    (0.0, 0.0), (0.0, 5.6), (0.0, -5.6), (9.0, 2.8), (-9.0, 2.8), (9.0, -2.8), (-9.0, -2.8),
    (0.0, 11.2), (0.0, -11.2), (13.0, 0.0), (-13.0, 0.0), (11.0, 8.4), (-11.0, 8.4),
    (11.0, -8.4), (-11.0, -8.4), (0.0, 16.8), (0.0, -16.8), (18.0, 5.6), (-18.0, 5.6),
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class PlanMark:
    """
    One planned line on a view. `x_dmm`, `y_dmm`: a place in its region, tenths of a millimetre.
    `text` is its amount, `label` what is read out, `key` the line's own id.
    """

    x_dmm: int
    y_dmm: int
    text: str
    kind: ProductKind
    state: LineState = LineState.OPEN
    label: str = ""
    key: str = ""

    @property
    def half_width(self) -> float:
        """Millimetres, with room for the sign that it gets when it is given."""
        return (DIGIT_MM * len(self.text) + _SIGN_MM) / 2 + _PADDING_MM


def spread(marks: Sequence[PlanMark], scale: float = 1.0) -> list[tuple[float, float]]:
    """
    The middle of each label in millimetres, in the order given: in its region, or beside it where
    another one lies there already. `scale` is how much larger than life labels are.
    """
    taken: list[Box] = []
    places = []
    for mark in marks:
        x, y = mark.x_dmm / 10, mark.y_dmm / 10
        options = [(x + right * scale, y + down * scale) for right, down in _SHIFTS]
        place = min(options, key=lambda at: _overlap(_box(mark, at, scale), taken))
        places.append(place)
        taken.append(_box(mark, place, scale))
    return places


def _box(mark: PlanMark, at: tuple[float, float], scale: float) -> Box:
    across, down = mark.half_width * scale, (HALF_HEIGHT_MM + 0.15) * scale
    return (at[0] - across, at[1] - down, at[0] + across, at[1] + down)


def _overlap(box: Box, taken: Iterable[Box]) -> float:
    """Square millimetres that the box shares with the others."""
    return sum(
        max(0.0, min(box[2], other[2]) - max(box[0], other[0]))
        * max(0.0, min(box[3], other[3]) - max(box[1], other[1]))
        for other in taken
    )


def draw_plan(view: View, marks: Sequence[PlanMark], *, scale: float = 1.0) -> str:
    """The <g> with the labels of one view."""
    places = spread(marks, scale)
    inner = "".join(_label(mark, at, scale) for mark, at in zip(marks, places, strict=True))
    return (
        f'<g class="marks marks-plan" data-marks="plan" data-view="{view}" '
        f'font-family="Clinic Sans, sans-serif">{inner}</g>'
    )


def _label(mark: PlanMark, at: tuple[float, float], scale: float) -> str:
    colour = COLOURS[mark.kind]
    width = mark.half_width
    is_given = mark.state in (LineState.DONE, LineState.OVER)
    dash = "" if is_given else ' stroke-dasharray="1.3 0.8"'
    start = -width + _PADDING_MM
    return (
        f'<g class="plan-mark plan-mark--{mark.state}" data-line="{escape(mark.key)}" '
        f'transform="translate({number(at[0])} {number(at[1])}) scale({number(scale)})">'
        f"<title>{escape(mark.label)}</title>"
        f'<rect x="{number(-width)}" y="{number(-HALF_HEIGHT_MM)}" width="{number(2 * width)}" '
        f'height="{number(2 * HALF_HEIGHT_MM)}" rx="{number(HALF_HEIGHT_MM)}" fill="#ffffff" '
        f'fill-opacity="0.94" stroke="{colour}" stroke-width="0.45"{dash}/>'
        f'<g transform="translate({number(start + 1.1)} 0)">{_sign(mark.state, colour)}</g>'
        f'<text x="{number(start + _SIGN_MM)}" y="1.15" font-size="{FONT_MM}" '
        f'fill="{INK}">{escape(mark.text)}</text></g>'
    )


def _sign(state: LineState, colour: str) -> str:
    """An empty ring, a half filled one, a tick, or a tick with a plus: never colour alone."""
    ring = f'<circle r="1.3" fill="none" stroke="{colour}" stroke-width="0.4"/>'
    if state is LineState.OPEN:
        return ring
    if state is LineState.PARTLY:
        return f'{ring}<path d="M0 -1.3A1.3 1.3 0 0 1 0 1.3Z" fill="{colour}"/>'
    tick = (
        f'<path d="M-1.3 0.1L-0.4 1.1L1.4 -1.2" fill="none" stroke="{colour}" '
        'stroke-width="0.6" stroke-linecap="round" stroke-linejoin="round"/>'
    )
    if state is LineState.OVER:
        tick += f'<path d="M1.3 0.6V2M0.6 1.3H2" stroke="{colour}" stroke-width="0.45"/>'
    return tick
