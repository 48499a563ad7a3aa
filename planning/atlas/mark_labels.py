"""
Where the number of each mark stands: beside it, away from its neighbours, the same every time.

Millimetres. A number that has to move away from its mark gets a thin line back to it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from planning.atlas.geometry import Point, between, number

FONT_MM = 3.6
_MARK_MM = 2.7  # half the room a mark needs
_DIGIT_MM = 2.15  # width of one digit
_RINGS_MM = (4.7, 7.6, 10.6, 13.6)
_ANGLES = (0, 180, -45, -135, 45, 135, -90, 90)

AMOUNT_MM = 3.2
_WORD_MM = 1.75  # width of one letter of an amount
_LINE_MM = 3.3  # from a number to the amount under it
_LINE_HALF_MM = 0.8  # half the room a thread's line needs

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class LabelPlace:
    """
    Number text centred on (x, y); `from_x`, `from_y` is the mark; `far` asks for a leader; `scale`
    is the size of mark and number, 1 on screen.
    """

    label: str
    x: float
    y: float
    from_x: float
    from_y: float
    far: bool
    scale: float = 1.0

    def leader(self, colour: str) -> str:
        """Thin line from the mark to a far number, empty when the number stands beside it."""
        if not self.far:
            return ""
        return (
            f'<path d="M{number(self.from_x)} {number(self.from_y)}'
            f'L{number(self.x)} {number(self.y)}" '
            f'fill="none" stroke="{colour}" stroke-width="0.25"/>'
        )

    def text(self, colour: str) -> str:
        """The number twice: a white edge first, so that it reads on any ground."""
        size = FONT_MM * self.scale
        place = (
            f'x="{number(self.x)}" y="{number(self.y + size * 0.35)}" font-size="{number(size)}" '
            'font-weight="700" text-anchor="middle"'
        )
        return (
            f'<text class="mark-halo" {place} fill="#ffffff" stroke="#ffffff" '
            f'stroke-width="{number(self.scale)}" stroke-linejoin="round" '
            f'aria-hidden="true">{self.label}</text>'
            f'<text class="mark-number" {place} fill="{colour}">{self.label}</text>'
        )


def place_labels(
    marks: Sequence[tuple[float, float, str]],
    scale: float = 1.0,
    lines: Sequence[tuple[Point, Point]] = (),
) -> list[LabelPlace]:
    """
    One place per mark (x, y, label), in the order given, for marks and numbers `scale` times as
    large as on screen. Numbers keep clear of `lines` (threads and fans) too.

    The nearest free place wins; outward (away from the midline) before inward. When every place is
    taken the least crowded is used, so that no number is ever left out.
    """
    half = _MARK_MM * scale
    obstacles = [(x - half, y - half, x + half, y + half) for x, y, _ in marks]
    placed: list[LabelPlace] = []
    taken: list[Box] = _along(lines, scale)
    for index, (x, y, label) in enumerate(marks):
        others = obstacles[:index] + obstacles[index + 1 :] + taken
        best, best_overlap = _candidate(x, y, label, _RINGS_MM[0], 0, scale), math.inf
        for radius in _RINGS_MM:
            for angle in _ANGLES:
                option = _candidate(x, y, label, radius, angle, scale)
                overlap = sum(_overlap(_box(option), other) for other in others)
                if overlap < best_overlap - 1e-9:
                    best, best_overlap = option, overlap
            if best_overlap == 0:
                break
        placed.append(best)
        taken.append(_box(best))
    return placed


@dataclass(frozen=True)
class AmountPlace:
    """The amount of a bolus, its text centred on (x, y)."""

    words: str
    x: float
    y: float
    scale: float = 1.0

    def text(self, colour: str) -> str:
        """Lighter than the number, with the same white edge."""
        size = AMOUNT_MM * self.scale
        place = (
            f'x="{number(self.x)}" y="{number(self.y + size * 0.35)}" font-size="{number(size)}" '
            'text-anchor="middle"'
        )
        words = escape(self.words)
        return (
            f'<text class="mark-halo" {place} fill="#ffffff" stroke="#ffffff" '
            f'stroke-width="{number(0.9 * self.scale)}" stroke-linejoin="round" '
            f'aria-hidden="true">{words}</text>'
            f'<text class="mark-amount" {place} fill="{colour}">{words}</text>'
        )


def place_amounts(
    marks: Sequence[tuple[float, float, str]],
    labels: Sequence[LabelPlace],
    words: Sequence[str],
    scale: float = 1.0,
    lines: Sequence[tuple[Point, Point]] = (),
) -> list[AmountPlace | None]:
    """
    Where the amounts stand, one text per mark ("" for none): under, over or outside of the number.

    Numbers keep their places. An amount that finds no room is left out; every amount stands in the
    table beside the drawing.
    """
    half = _MARK_MM * scale
    taken = [(x - half, y - half, x + half, y + half) for x, y, _ in marks]
    taken += [_box(label) for label in labels] + _along(lines, scale)
    placed: list[AmountPlace | None] = []
    for label, text in zip(labels, words, strict=True):
        best = next(
            (
                place
                for place in _beside(label, text, scale)
                if not any(_overlap(_amount_box(place), other) for other in taken)
            ),
            None,
        )
        if best:
            taken.append(_amount_box(best))
        placed.append(best)
    return placed


def _beside(label: LabelPlace, words: str, scale: float) -> list[AmountPlace]:
    if not words:
        return []
    aside = (_WORD_MM * len(words) / 2 + _DIGIT_MM * len(label.label) / 2 + 0.5) * scale
    outward = -1 if label.x < label.from_x else 1
    moves = ((0.0, _LINE_MM * scale), (0.0, -_LINE_MM * scale), (outward * aside, 0.0))
    return [AmountPlace(words, label.x + x, label.y + y, scale) for x, y in moves]


def _amount_box(place: AmountPlace) -> Box:
    half, rise = _WORD_MM * len(place.words) / 2 * place.scale, 1.5 * place.scale
    return (place.x - half, place.y - rise, place.x + half, place.y + rise)


def _along(lines: Sequence[tuple[Point, Point]], scale: float) -> list[Box]:
    """Small boxes all along the lines."""
    half = _LINE_HALF_MM * scale
    boxes: list[Box] = []
    for start, end in lines:
        pieces = max(1, math.ceil(math.dist(start, end) / (2 * half)))
        for piece in range(pieces + 1):
            x, y = between(start, end, piece / pieces)
            boxes.append((x - half, y - half, x + half, y + half))
    return boxes


def _candidate(
    x: float, y: float, label: str, radius: float, angle: float, scale: float
) -> LabelPlace:
    outward = -1 if x < 0 else 1
    reach = (radius + _DIGIT_MM * (len(label) - 1) / 2) * scale
    turn = math.radians(angle)
    return LabelPlace(
        label=label,
        x=x + outward * reach * math.cos(turn),
        y=y + radius * scale * math.sin(turn),
        from_x=x,
        from_y=y,
        far=radius > _RINGS_MM[0],
        scale=scale,
    )


def _box(place: LabelPlace) -> Box:
    half = (_DIGIT_MM * len(place.label) / 2 + 0.2) * place.scale
    rise = FONT_MM * 0.45 * place.scale
    return (place.x - half, place.y - rise, place.x + half, place.y + rise)


def _overlap(a: Box, b: Box) -> float:
    width = min(a[2], b[2]) - max(a[0], b[0])
    height = min(a[3], b[3]) - max(a[1], b[1])
    return width * height if width > 0 and height > 0 else 0.0
