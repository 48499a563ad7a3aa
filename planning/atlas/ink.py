"""
Pens and tints of the chart, as SVG text.

Only presentation attributes, because the PDF writer ignores the page's CSS inside an SVG and the
screen's content policy refuses style attributes. Each element also carries a class, by which the
screen may override the attribute (dark theme).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

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

_GLOW_MM = 10  # radius in which a soft shade is defined before it is stretched to its place
_RINGS = 16


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
    shade: str,
    *,
    turn: float = 0,
    opacity: float = 1,
) -> str:
    """A soft-edged ellipse: `shade` is the id of a `fading` definition."""
    x, y = (number(value) for value in centre)
    across, down = (f"{radius / _GLOW_MM:.4f}" for radius in radii)
    turned = f" rotate({number(turn)})" if turn else ""
    return (
        f'<use class="atlas-glow" href="#{shade}" '
        f'transform="translate({x} {y}){turned} scale({across} {down})"'
        f"{_opacity('opacity', opacity)}/>"
    )


def fading(key: str, colour: str, name: str, strength: float) -> str:
    """
    Definition of a round shade that fades from `strength` in the middle to nothing at its edge.

    Rings laid over one another, not a radial gradient: WeasyPrint 70 writes those as patterns with
    soft masks, of which viewers and printers built on poppler show a quarter or nothing.
    """
    rings = "".join(
        f'<circle class="{name}" r="{number(_GLOW_MM * (index + 0.5) / _RINGS)}" fill="{colour}" '
        f'fill-opacity="{opacity:.4f}"/>'
        for index, opacity in reversed(list(enumerate(_ring_opacities(strength))))
    )
    return f'<g id="{key}">{rings}</g>'


def _ring_opacities(strength: float) -> list[float]:
    """Opacity of each ring, from the middle, that together fade as a gradient would."""
    wanted = [strength * _fade(index / _RINGS) for index in range(_RINGS)] + [0.0]
    return [1 - (1 - here) / (1 - outside) for here, outside in pairwise(wanted)]


def _fade(share: float) -> float:
    """How much of the strength is left at a share of the radius: 1 in the middle, 0 at the edge."""
    stops = ((0.0, 1.0), (0.35, 0.72), (0.65, 0.3), (1.0, 0.0))
    for (near, high), (far, low) in pairwise(stops):
        if share <= far:
            return high + (low - high) * (share - near) / (far - near)
    return 0.0


def falling(
    key: str, colour: str, name: str, top: float, bottom: float, *, heights: tuple[float, float]
) -> str:
    """
    Definition of a gradient from opacity `top` at the first height (mm) to `bottom`.

    In millimetres, because viewers built on poppler leave out gradients in units of the shape.
    """
    first, last = (number(height) for height in heights)
    return (
        f'<linearGradient id="{key}" gradientUnits="userSpaceOnUse" '
        f'x1="0" y1="{first}" x2="0" y2="{last}">'
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
