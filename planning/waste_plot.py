"""
Waste month by month as bars: where each stands, in whole units of a box of WIDTH by HEIGHT.

What was left over when a session was signed stands filled at the foot of a bar; what was thrown
away otherwise stands on it as an outline. The two are told apart without colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from planning.amounts import format_amount, plain_number
from planning.plot_axis import Axis
from planning.vocabulary import Measure
from planning.waste import WasteFigures

WIDTH, HEIGHT = 360, 150
LEFT, RIGHT, TOP, BOTTOM = 50, 354, 12, 124
MOST_LABELS = 4
WIDEST_BAR = 26


@dataclass(frozen=True, slots=True)
class MonthWaste:
    """The waste of a calendar month; `month` is its first day."""

    month: date
    figures: WasteFigures


@dataclass(frozen=True, slots=True)
class Bar:
    """One month with waste: the filled foot from BOTTOM up, the outline on top of it."""

    x: int
    foot_y: int
    foot_height: int
    rest_y: int
    rest_height: int
    words: str


@dataclass(frozen=True, slots=True)
class Tick:
    at: int
    text: str


@dataclass(frozen=True, slots=True)
class WastePlot:
    bars: tuple[Bar, ...]
    y_ticks: tuple[Tick, ...]
    x_ticks: tuple[Tick, ...]
    bar_width: int
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = RIGHT
    bottom: int = BOTTOM


def waste_plot(months: Sequence[MonthWaste], axis: Axis, measure: Measure) -> WastePlot:
    """
    Args:
        months: every month of the stretch in order, those without waste too.
        axis: reaches the highest month; the same for all plots that are compared.

    Raises:
        ValueError: no month, or one above the axis.
    """
    if not months:
        raise ValueError("A plot of waste needs a month.")
    if any(each.figures.wasted > axis.top for each in months):
        raise ValueError("The axis is too short for a month.")
    each_wide = (RIGHT - LEFT) / len(months)
    width = max(3, min(WIDEST_BAR, int(each_wide * 0.7)))

    def middle(number: int) -> int:
        return round(LEFT + each_wide * (number + 0.5))

    every = -(-len(months) // MOST_LABELS)
    return WastePlot(
        bars=tuple(
            _bar(each, middle(number) - width // 2, axis, measure)
            for number, each in enumerate(months)
            if each.figures.wasted
        ),
        y_ticks=tuple(
            Tick(BOTTOM - axis.length(at, BOTTOM - TOP), plain_number(at, measure))
            for at in axis.ticks
        ),
        x_ticks=tuple(
            Tick(middle(number), f"{months[number].month:%b %y}")
            for number in range(0, len(months), every)
        ),
        bar_width=width,
    )


def _bar(each: MonthWaste, x: int, axis: Axis, measure: Measure) -> Bar:
    figures, whole = each.figures, BOTTOM - TOP
    foot, rest = axis.length(figures.left_over, whole), axis.length(figures.otherwise, whole)
    parts = [
        f"{format_amount(amount, measure)} {how}"
        for amount, how in ((figures.left_over, "left over"), (figures.otherwise, "otherwise"))
        if amount
    ]
    return Bar(
        x=x,
        foot_y=BOTTOM - foot,
        foot_height=foot,
        rest_y=BOTTOM - foot - rest,
        rest_height=rest,
        words=f"{each.month:%B %Y}: {', '.join(parts)}",
    )
