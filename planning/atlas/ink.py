"""
Pens and tints of the chart, as SVG text.

Only presentation attributes, because the PDF writer ignores the page's CSS inside an SVG and the
screen's content policy refuses style attributes. Each element also carries a class, by which the
screen may override the attribute (dark theme).
"""

from __future__ import annotations

from collections.abc import Sequence

from planning.atlas.geometry import Point, brush, number, path

LINE = "#55443c"
SKIN = "#f8eee5"
SKIN_DEEP = "#f1e2d5"
SHADE = "#b98f76"
LIGHT = "#fffaf5"
HAIR = "#a08b7b"
HAIR_DARK = "#6d5c51"
LIP = "#cf9a8c"
WHITE = "#fdfbf8"
IRIS = "#7d8b8c"
PUPIL = "#2b2422"


def fill(points: Sequence[Point], colour: str, name: str, *, opacity: float = 1) -> str:
    """A closed smooth shape without an edge."""
    data = path(points, closed=True)
    return f'<path class="{name}" d="{data}" fill="{colour}"{_opacity("fill-opacity", opacity)}/>'


def fill_path(data: str, colour: str, name: str, *, opacity: float = 1) -> str:
    """A shape given as path data."""
    return f'<path class="{name}" d="{data}" fill="{colour}"{_opacity("fill-opacity", opacity)}/>'


def line(
    points: Sequence[Point],
    width: float,
    *,
    colour: str = LINE,
    name: str = "atlas-line",
    opacity: float = 1,
) -> str:
    """An even line with round ends."""
    return (
        f'<path class="{name}" d="{path(points)}" fill="none" stroke="{colour}" '
        f'stroke-width="{number(width)}" stroke-linecap="round" stroke-linejoin="round"'
        f"{_opacity('stroke-opacity', opacity)}/>"
    )


def pen(
    points: Sequence[Point],
    widths: Sequence[float],
    *,
    colour: str = LINE,
    name: str = "atlas-pen",
    opacity: float = 1,
    step_mm: float = 1.0,
) -> str:
    """A line that swells and thins."""
    return fill_path(brush(points, widths, step_mm), colour, name, opacity=opacity)


def glow(
    centre: Point,
    radii: Point,
    gradient: str,
    *,
    turn: float = 0,
    opacity: float = 1,
) -> str:
    """A soft-edged ellipse: `gradient` is the id of a radial gradient that fades out."""
    x, y = (number(value) for value in centre)
    turned = f' transform="rotate({number(turn)} {x} {y})"' if turn else ""
    return (
        f'<ellipse class="atlas-glow" cx="{x}" cy="{y}" rx="{number(radii[0])}" '
        f'ry="{number(radii[1])}" fill="url(#{gradient})"{turned}{_opacity("opacity", opacity)}/>'
    )


def fading(key: str, colour: str, name: str, strength: float) -> str:
    """
    Definition of a radial gradient that fades from `strength` to nothing.

    The radius is written out: WeasyPrint 70 reads the default of 50% against the box's diagonal,
    and the shade would end in a visible edge.
    """
    stops = ((0, 1.0), (35, 0.72), (65, 0.3), (100, 0.0))
    body = "".join(
        f'<stop class="{name}" offset="{offset}%" stop-color="{colour}" '
        f'stop-opacity="{number(strength * share)}"/>'
        for offset, share in stops
    )
    return f'<radialGradient id="{key}" cx="0.5" cy="0.5" r="0.5">{body}</radialGradient>'


def falling(key: str, colour: str, name: str, top: float, bottom: float) -> str:
    """Definition of a gradient from the top of the shape (opacity `top`) to its bottom."""
    return (
        f'<linearGradient id="{key}" x1="0" y1="0" x2="0" y2="1">'
        f'<stop class="{name}" offset="0%" stop-color="{colour}" stop-opacity="{number(top)}"/>'
        f'<stop class="{name}" offset="100%" stop-color="{colour}" '
        f'stop-opacity="{number(bottom)}"/>'
        "</linearGradient>"
    )


def strands(
    first: Sequence[Point],
    last: Sequence[Point],
    count: int,
    width: float,
    *,
    opacity: float = 0.5,
    name: str = "atlas-hair-line",
) -> str:
    """
    Hairs between two guide lines with the same number of points.

    Lengths and weights vary by a fixed pattern, so that the drawing is the same each time.
    """
    parts: list[str] = []
    for index in range(count):
        share = (index + 0.5) / count
        start = 0.06 * ((index * 7) % 5) / 4
        points = [
            (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)
            for a, b in zip(first, last, strict=True)
        ]
        head, after = points[0], points[1]
        points[0] = (
            head[0] + (after[0] - head[0]) * start * 4,
            head[1] + (after[1] - head[1]) * start * 4,
        )
        swell = width * (0.7 + 0.3 * ((index * 3) % 4) / 3)
        parts.append(
            pen(
                points,
                (0.12 * swell, swell, 0.7 * swell, 0.1 * swell),
                colour=HAIR_DARK,
                name=name,
                opacity=opacity * (0.65 + 0.35 * ((index * 5) % 3) / 2),
                step_mm=2.5,
            )
        )
    return "".join(parts)


def _opacity(attribute: str, value: float) -> str:
    return "" if value >= 1 else f' {attribute}="{number(value)}"'
