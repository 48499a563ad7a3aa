"""
Where a thread or a fan runs: a line or a sector from where the needle went in to where it ends.

True to length and direction on the chart; only the width of the lines grows with the marks. A
thread laid while drawing back ends in a bar, one laid ahead in an arrow, as in their figures.
"""

from __future__ import annotations

import math

from planning.atlas.geometry import Point, number
from planning.vocabulary import Technique

WITH_REACH: tuple[Technique, ...] = (
    Technique.LINEAR_RETROGRADE,
    Technique.LINEAR_ANTEROGRADE,
    Technique.FANNING,
)
"""Techniques with one direction and length; the others spread about one place."""

FAN_HALF_ANGLE = math.pi / 6
"""Half the opening of a drawn fan: a sign of this chart, not the fan's own width."""

_SHORTEST_MM = 0.5
_END_MM = 1.5
_BARB_ANGLE = 2.6

Stretch = tuple[Point, Point]


def stretches(technique: Technique, start: Point, end: Point) -> list[Stretch]:
    """The straight lines of a reach (mm), which numbers keep clear of."""
    if not _is_drawn(technique, start, end):
        return []
    if technique is Technique.FANNING:
        return [(start, end)] + [(start, _turned(start, end, turn)) for turn in _SIDES]
    return [(start, end)]


def draw_reach(
    technique: Technique, start: Point, end: Point, colour: str, scale: float = 1.0
) -> str:
    """The reach as SVG in millimetres of the chart; nothing for a technique without one."""
    if not _is_drawn(technique, start, end):
        return ""
    if technique is Technique.FANNING:
        return _fan(start, end, colour, scale)
    line = f"M{_at(start)}L{_at(end)}"
    sign = _end(technique, start, end, scale)
    return (
        f'<path class="reach-edge" d="{line}{sign}" fill="none" stroke="#ffffff" '
        f'stroke-width="{number(1.4 * scale)}" stroke-opacity="0.85" stroke-linecap="round" '
        'stroke-linejoin="round"/>'
        f'<path class="reach" d="{line}{sign}" fill="none" stroke="{colour}" '
        f'stroke-width="{number(0.6 * scale)}" stroke-linecap="round" stroke-linejoin="round"/>'
    )


_SIDES = (-FAN_HALF_ANGLE, FAN_HALF_ANGLE)


def _is_drawn(technique: Technique, start: Point, end: Point) -> bool:
    return technique in WITH_REACH and math.dist(start, end) >= _SHORTEST_MM


def _fan(start: Point, end: Point, colour: str, scale: float) -> str:
    """The sector with its middle line."""
    length = number(math.dist(start, end))
    one, other = (_at(_turned(start, end, turn)) for turn in _SIDES)
    sector = f"M{_at(start)}L{one}A{length} {length} 0 0 1 {other}Z"
    width = number(0.4 * scale)
    return (
        f'<path class="reach-edge" d="{sector}" fill="none" stroke="#ffffff" '
        f'stroke-width="{number(1.1 * scale)}" stroke-opacity="0.85" stroke-linejoin="round"/>'
        f'<path class="reach" d="{sector}M{_at(start)}L{_at(end)}" fill="{colour}" '
        f'fill-opacity="0.16" stroke="{colour}" stroke-width="{width}" stroke-linecap="round" '
        'stroke-linejoin="round"/>'
    )


def _end(technique: Technique, start: Point, end: Point, scale: float) -> str:
    angle = math.atan2(end[1] - start[1], end[0] - start[0])

    def around(turn: float, length: float) -> str:
        return _at(
            (end[0] + length * math.cos(angle + turn), end[1] + length * math.sin(angle + turn))
        )

    size = _END_MM * scale
    if technique is Technique.LINEAR_ANTEROGRADE:
        barb = size * 1.3
        return f"M{around(_BARB_ANGLE, barb)}L{_at(end)}L{around(-_BARB_ANGLE, barb)}"
    return f"M{around(math.pi / 2, size)}L{around(-math.pi / 2, size)}"


def _turned(centre: Point, point: Point, turn: float) -> Point:
    x, y = point[0] - centre[0], point[1] - centre[1]
    cos, sin = math.cos(turn), math.sin(turn)
    return (centre[0] + x * cos - y * sin, centre[1] + x * sin + y * cos)


def _at(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"
