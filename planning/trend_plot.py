"""
A figure month by month: a mark for its value, a line for its range; in whole units of a box of
WIDTH by HEIGHT. Months of which too little is known have no mark, and the line breaks there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from planning.plot_axis import axis_to

WIDTH, HEIGHT = 360, 170
LEFT, RIGHT, TOP, BOTTOM = 50, 352, 12, 142
MOST_LABELS = 4


@dataclass(frozen=True, slots=True)
class MonthValue:
    """
    A figure in the calendar month that begins on `month`.

    Attributes:
        value: None where it is not given; `low` and `high` are its range, None where it has none.
        is_asked: whether the month is one of the days the report is about.
        words: the same in words.
    """

    month: date
    value: float | None
    low: float | None = None
    high: float | None = None
    is_asked: bool = False
    words: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """Its place, and that of the ends of its range (the same place where it has none)."""

    x: int
    y: int
    low_y: int
    high_y: int
    is_asked: bool
    words: str


@dataclass(frozen=True, slots=True)
class Tick:
    at: int
    text: str


@dataclass(frozen=True, slots=True)
class TrendPlot:
    """
    Attributes:
        lines: points of a polyline each, over months that follow each other.
        band: left edge and width of the months asked for; None if none of them is drawn.
    """

    marks: tuple[Mark, ...]
    lines: tuple[str, ...]
    y_ticks: tuple[Tick, ...]
    x_ticks: tuple[Tick, ...]
    band: tuple[int, int] | None
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = RIGHT
    top: int = TOP
    bottom: int = BOTTOM


def trend_plot(months: Sequence[MonthValue], *, unit: str = "") -> TrendPlot:
    """
    Args:
        months: in order without a gap.
        unit: written behind each number of the upright scale.

    Raises:
        ValueError: no month, or a value below 0.
    """
    if not months:
        raise ValueError("A plot of months needs a month.")
    ends = [end for one in months for end in (one.value, one.low, one.high) if end is not None]
    if min(ends, default=0) < 0:
        raise ValueError("No figure is below 0.")
    axis = axis_to(max(1, ceil(max(ends, default=1))))
    each_wide = (RIGHT - LEFT) / len(months)

    def across(number: float) -> int:
        return round(LEFT + each_wide * number)

    def height(value: float) -> int:
        return BOTTOM - round(value * (BOTTOM - TOP) / axis.top)

    drawn: list[Mark | None] = [
        None if one.value is None else Mark(
            x=across(number + 0.5),
            y=height(one.value),
            low_y=height(one.value if one.low is None else one.low),
            high_y=height(one.value if one.high is None else one.high),
            is_asked=one.is_asked,
            words=one.words,
        )
        for number, one in enumerate(months)
    ]  # fmt: skip
    asked = [number for number, one in enumerate(months) if one.is_asked]
    every = -(-len(months) // MOST_LABELS)
    return TrendPlot(
        marks=tuple(mark for mark in drawn if mark),
        lines=tuple(_lines(drawn)),
        y_ticks=tuple(Tick(height(at), f"{at:,}{unit}") for at in axis.ticks),
        x_ticks=tuple(
            Tick(across(number + 0.5), f"{months[number].month:%b %y}")
            for number in range(len(months) - 1, -1, -every)
        ),
        band=(across(asked[0]), across(asked[-1] + 1) - across(asked[0])) if asked else None,
    )


def _lines(marks: Sequence[Mark | None]) -> list[str]:
    """Polylines over marks that follow each other; a mark alone needs none."""
    lines: list[list[str]] = [[]]
    for mark in marks:
        if mark is None:
            lines.append([])
        else:
            lines[-1].append(f"{mark.x},{mark.y}")
    return [" ".join(points) for points in lines if len(points) > 1]
