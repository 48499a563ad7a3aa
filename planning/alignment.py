"""
One picture laid over another: by marks on the same places of both, or mirrored about its midline.

A picture has its own axes: origin at its top-left corner, x to the right, y down, pixels. Floats,
for nothing here is an amount: a placement is drawn, never stored.

Two marks fix shift, turn and scale. Three give the ones that fit all of them best, which leaves the
shape as it is (`similar`), or also stretch and slant the picture until all three lie on each other
(`affine`), which changes the very shape that is looked at. Neither undoes another pose or light.

Source: Umeyama, IEEE Trans. Pattern Anal. Mach. Intell. 1991;13:376-380, in two dimensions and
without reflection, written with complex numbers.

>>> shifted = similar([(0, 0), (10, 0)], [(5, 5), (25, 5)])
>>> shifted.of(10, 10)
(25.0, 25.0)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, sqrt

from planning.atlas.geometry import Point

Outline = tuple[Point, ...]

CLOSEST = 10.0
"""Marks nearer to each other, in pixels, turn a slip of the hand into a large turn: our choice."""

FLATTEST = 0.02
"""Height of the marks' triangle over its longest side, below which `affine` is none: our choice."""


class AlignmentError(ValueError):
    """These marks give no placement; the text says what to do."""


@dataclass(frozen=True, slots=True)
class Placement:
    """
    Where a picture's pixels come to lie: x' = ax + cy + e, y' = bx + dy + f.

    The order of the six is that of a matrix in SVG, PDF and the canvas.
    """

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def of(self, x: float, y: float) -> Point:
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    @property
    def matrix(self) -> tuple[float, float, float, float, float, float]:
        return self.a, self.b, self.c, self.d, self.e, self.f

    def error(self, source: Sequence[Point], target: Sequence[Point]) -> float:
        """How far the marks come to lie from each other, as the root of the mean square."""
        offs = [
            hypot(x - to_x, y - to_y)
            for (x, y), (to_x, to_y) in zip(
                (self.of(*place) for place in source), target, strict=True
            )
        ]
        return sqrt(sum(off * off for off in offs) / len(offs))


UNMOVED = Placement()


def similar(source: Sequence[Point], target: Sequence[Point]) -> Placement:
    """
    The shift, turn and scale that bring `source` nearest to `target`, by least squares.

    Raises:
        AlignmentError: fewer than two marks, not as many in both, or some too near to each other.
    """
    _check(source, target, least=2)
    here, there = [complex(*place) for place in source], [complex(*place) for place in target]
    here_mean, there_mean = sum(here) / len(here), sum(there) / len(there)
    spread = sum(abs(z - here_mean) ** 2 for z in here)
    joint = sum(
        (z - here_mean).conjugate() * (w - there_mean) for z, w in zip(here, there, strict=True)
    )
    turned = joint / spread
    shift = there_mean - turned * here_mean
    return Placement(turned.real, turned.imag, -turned.imag, turned.real, shift.real, shift.imag)


def affine(source: Sequence[Point], target: Sequence[Point]) -> Placement:
    """
    The placement that brings three marks exactly onto three others.

    Raises:
        AlignmentError: not three marks in both, some too near, or nearly on one line in one of
            both pictures.
    """
    _check(source, target, least=3)
    if len(source) != 3:
        raise AlignmentError("Stretching takes three marks.")
    if _is_flat(source) or _is_flat(target):
        raise AlignmentError(
            "The three marks lie nearly on one line, so the picture cannot be stretched to them. "
            "Turn, scale and shift alone."
        )
    (x0, y0), (x1, y1), (x2, y2) = source
    area = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)

    def row(v0: float, v1: float, v2: float) -> tuple[float, float, float]:
        """What x, y and 1 are multiplied by to give these at the three marks (Cramer's rule)."""
        by_x = ((v1 - v0) * (y2 - y0) - (v2 - v0) * (y1 - y0)) / area
        by_y = ((v2 - v0) * (x1 - x0) - (v1 - v0) * (x2 - x0)) / area
        return by_x, by_y, v0 - by_x * x0 - by_y * y0

    a, c, e = row(*(place[0] for place in target))
    b, d, f = row(*(place[1] for place in target))
    return Placement(a, b, c, d, e, f)


def midline(right: Point, left: Point, middle: Point | None = None) -> tuple[Point, Point]:
    """
    Two places of the line halfway between the marks of a pair: through `middle` where there is one,
    else square to the line that joins the pair.

    Raises:
        AlignmentError: the pair, or `middle` and the pair's centre, are too near to each other.
    """
    check_apart((right, left))
    centre = ((right[0] + left[0]) / 2, (right[1] + left[1]) / 2)
    if middle is None:
        return centre, (centre[0] + right[1] - left[1], centre[1] + left[0] - right[0])
    check_apart((centre, middle))
    return centre, middle


def mirrored(axis: tuple[Point, Point]) -> Placement:
    """
    The picture mirrored about the line through both places of `axis`.

    Raises:
        AlignmentError: both are too near to each other.
    """
    check_apart(axis)
    through, other = complex(*axis[0]), complex(*axis[1])
    along = (other - through) / abs(other - through)
    turn = along * along
    shift = through - turn * through.conjugate()
    return Placement(turn.real, turn.imag, turn.imag, -turn.real, shift.real, shift.imag)


def half(width: int, height: int, axis: tuple[Point, Point], inside: Point) -> Outline:
    """
    The corners of that part of a picture which lies on the same side of the line as `inside`.

    Raises:
        AlignmentError: `inside` lies on the line.
    """
    sign = _beside(axis, inside)
    if sign == 0:
        raise AlignmentError("The pair's mark lies on the midline. Set the marks anew.")
    corners: list[Point] = [(0, 0), (width, 0), (width, height), (0, height)]
    kept: list[Point] = []
    for here, after in zip(corners, corners[1:] + corners[:1], strict=True):
        at, then = _beside(axis, here) * sign, _beside(axis, after) * sign
        if at >= 0:
            kept.append(here)
        if at * then < 0:
            part = at / (at - then)
            kept.append(
                (here[0] + part * (after[0] - here[0]), here[1] + part * (after[1] - here[1]))
            )
    return tuple(kept)


def _beside(axis: tuple[Point, Point], place: Point) -> float:
    """Positive on one side of the line, negative on the other."""
    (x0, y0), (x1, y1) = axis
    return (x1 - x0) * (place[1] - y0) - (y1 - y0) * (place[0] - x0)


def _is_flat(places: Sequence[Point]) -> bool:
    (x0, y0), (x1, y1), (x2, y2) = places
    doubled = abs((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0))
    longest = max(hypot(x1 - x0, y1 - y0), hypot(x2 - x0, y2 - y0), hypot(x2 - x1, y2 - y1))
    return doubled < FLATTEST * longest * longest


def _check(source: Sequence[Point], target: Sequence[Point], *, least: int) -> None:
    if len(source) != len(target):
        raise AlignmentError("Both pictures need the same marks.")
    if len(source) < least:
        raise AlignmentError(f"Mark at least {least} places on both pictures.")
    check_apart(source)
    check_apart(target)


def check_apart(places: Sequence[Point]) -> None:
    """
    Whether marks of one picture are far enough from each other to place it by.

    Raises:
        AlignmentError: two are not.
    """
    for index, (x, y) in enumerate(places):
        for other_x, other_y in places[:index]:
            if hypot(x - other_x, y - other_y) < CLOSEST:
                raise AlignmentError(
                    f"Two marks lie less than {CLOSEST:.0f} pixels from each other. Move them "
                    "apart, each to its own place."
                )
