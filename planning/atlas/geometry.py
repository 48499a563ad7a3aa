"""
Curves and exact point-in-shape tests for the face chart.

Drawing works in millimetres (`Point`, floats: they end as text in an SVG path). Finding a region
works in whole tenths of a millimetre (`Cell`, integers), so that a place on a shared border falls
on the same side every time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

Point = tuple[float, float]
Cell = tuple[int, int]
Bezier = tuple[Point, Point, Point, Point]


def smooth(points: Sequence[Point], *, closed: bool = False, tension: float = 0.5) -> list[Bezier]:
    """
    Cubic Béziers through all points (Catmull-Rom with chord-length tangents, so that uneven
    spacing makes no loops).

    Args:
        points: millimetres; at least 2.
        closed: join the last point to the first.
        tension: 0.5 is the usual roundness; 0 gives straight lines.
    """
    count = len(points)
    if count < 2:
        raise ValueError(f"a curve needs at least 2 points, got {count}")

    def at(index: int) -> Point:
        if closed:
            return points[index % count]
        return points[max(0, min(count - 1, index))]

    curves: list[Bezier] = []
    for index in range(count if closed else count - 1):
        before, start, end, after = at(index - 1), at(index), at(index + 1), at(index + 2)
        chord = math.dist(start, end)
        out = _tangent(before, start, end)
        into = _tangent(start, end, after)
        reach = chord * tension * 2 / 3
        curves.append(
            (
                start,
                (start[0] + out[0] * reach, start[1] + out[1] * reach),
                (end[0] - into[0] * reach, end[1] - into[1] * reach),
                end,
            )
        )
    return curves


def _tangent(before: Point, here: Point, after: Point) -> Point:
    """Unit direction at `here`, the nearer neighbour weighing more; (0, 0) if all coincide."""
    back, ahead = math.dist(before, here), math.dist(here, after)
    if back == 0 and ahead == 0:
        return (0.0, 0.0)
    if back == 0:
        vector = (after[0] - here[0], after[1] - here[1])
    elif ahead == 0:
        vector = (here[0] - before[0], here[1] - before[1])
    else:
        vector = (
            (here[0] - before[0]) / back**2 + (after[0] - here[0]) / ahead**2,
            (here[1] - before[1]) / back**2 + (after[1] - here[1]) / ahead**2,
        )
    length = math.hypot(*vector)
    return (vector[0] / length, vector[1] / length) if length else (0.0, 0.0)


def sample(curves: Sequence[Bezier], step_mm: float = 1.5) -> list[Point]:
    """Points along the curves, about `step_mm` apart, ends included."""
    points = [curves[0][0]]
    for start, first, second, end in curves:
        pieces = max(1, math.ceil(math.dist(start, end) / step_mm))
        for piece in range(1, pieces + 1):
            t = piece / pieces
            points.append(_on_bezier(start, first, second, end, t))
    return points


def _on_bezier(a: Point, b: Point, c: Point, d: Point, t: float) -> Point:
    u = 1 - t
    wa, wb, wc, wd = u**3, 3 * u * u * t, 3 * u * t * t, t**3
    return (
        wa * a[0] + wb * b[0] + wc * c[0] + wd * d[0],
        wa * a[1] + wb * b[1] + wc * c[1] + wd * d[1],
    )


def number(value: float) -> str:
    """A millimetre value for SVG: at most two decimals, no trailing zero, never -0."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def path(points: Sequence[Point], *, closed: bool = False, tension: float = 0.5) -> str:
    """SVG path data of the smooth curve through the points."""
    curves = smooth(points, closed=closed, tension=tension)
    parts = [f"M{_pair(curves[0][0])}"]
    parts += [f"C{_pair(b)} {_pair(c)} {_pair(d)}" for _, b, c, d in curves]
    return "".join(parts) + ("Z" if closed else "")


def polygon(points: Sequence[Point]) -> str:
    """SVG path data of the closed shape with straight sides."""
    return "M" + "L".join(_pair(point) for point in points) + "Z"


def brush(points: Sequence[Point], widths: Sequence[float], step_mm: float = 1.0) -> str:
    """
    SVG path data of a pen stroke that swells and thins: a closed shape around the smooth curve.

    Args:
        points: the middle of the stroke.
        widths: full width in mm at equal distances along the stroke; at least 2.
    """
    line = sample(smooth(points), step_mm)
    lengths = [0.0]
    for first, second in pairwise(line):
        lengths.append(lengths[-1] + math.dist(first, second))
    left: list[Point] = []
    right: list[Point] = []
    for index, here in enumerate(line):
        direction = _tangent(line[max(0, index - 1)], here, line[min(len(line) - 1, index + 1)])
        half = _width_at(widths, lengths[index] / (lengths[-1] or 1)) / 2
        left.append((here[0] + direction[1] * half, here[1] - direction[0] * half))
        right.append((here[0] - direction[1] * half, here[1] + direction[0] * half))
    return polygon(left + right[::-1])


def between(a: Point, b: Point, share: float) -> Point:
    """The point `share` (0..1) of the way from a to b."""
    return (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)


def along(points: Sequence[Point], share: float) -> Point:
    """The place `share` (0..1) of the way through a list of points, equal steps per point."""
    at = share * (len(points) - 1)
    index = min(int(at), len(points) - 2)
    return between(points[index], points[index + 1], at - index)


def _width_at(widths: Sequence[float], share: float) -> float:
    place = share * (len(widths) - 1)
    index = min(int(place), len(widths) - 2)
    rest = place - index
    return widths[index] * (1 - rest) + widths[index + 1] * rest


def _pair(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"


def flipped(points: Sequence[Point]) -> list[Point]:
    """The same points on the other side of x = 0."""
    return [(-x, y) for x, y in points]


def to_cells(points: Sequence[Point]) -> list[Cell]:
    """Millimetres to whole tenths, halves away from zero so that both sides round alike."""
    return [(_tenths(x), _tenths(y)) for x, y in points]


def _tenths(value_mm: float) -> int:
    return int(math.copysign(math.floor(abs(value_mm) * 10 + 0.5), value_mm))


def contains(ring: Sequence[Cell], x: int, y: int) -> bool:
    """
    Whether a cell lies in a closed ring, by crossing count in whole numbers (exact).

    Half-open rule: a place on a border belongs to the shape on its right (larger x), and on a level
    border to the shape below (larger y). Shapes that share their borders vertex by vertex therefore
    never both hold a place and never both miss it.
    """
    inside = False
    x1, y1 = ring[-1]
    for x2, y2 in ring:
        if (y1 > y) != (y2 > y):
            # x < crossing, multiplied out by (y2 - y1) so that no division rounds.
            rise = y2 - y1
            difference = (x - x1) * rise - (x2 - x1) * (y - y1)
            if (difference < 0) if rise > 0 else (difference > 0):
                inside = not inside
        x1, y1 = x2, y2
    return inside


def doubled_area(ring: Sequence[Cell]) -> int:
    """Twice the enclosed area in square tenths of a millimetre, exact and without sign."""
    total = 0
    x1, y1 = ring[-1]
    for x2, y2 in ring:
        total += x1 * y2 - x2 * y1
        x1, y1 = x2, y2
    return abs(total)
