"""
Where everything of a funnel plot stands: lines, marks, ticks and labels, in the drawing's units.

Across: patients treated with a lot. Upwards: the share of them with an event. What a page draws
from it is readable without colour: each verdict has a shape of its own, and lots outside carry
their number. Lots at the same place are one mark.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import floor, log10

from planning.funnel import CurvePoint, Judgement, Limits, Verdict, curve_sizes, funnel_curve

WIDTH, HEIGHT = 760, 410
LEFT, RIGHT, TOP, BOTTOM = 58, 690, 38, 360
MOST_TICKS = 6
# Of the text beside marks: what it keeps from other text, and how wide a letter is at most.
LINE_HEIGHT, LETTER_WIDTH, BASELINE, MARK_SPACE = 17, 8, 5, 12
# How far above the farthest lot outside, or the outer limit of a middling lot, the scale goes.
_HEADROOM = 1.1


@dataclass(frozen=True, slots=True)
class PlotLot:
    """One lot to be drawn: what it is called, its counts, and where it lies in the funnel."""

    label: str
    events: int
    treated: int
    judgement: Judgement

    @property
    def share(self) -> float:
        return self.events / self.treated

    @property
    def is_outside(self) -> bool:
        return self.judgement.verdict is not Verdict.INSIDE


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on an axis: where, and what is written beside it."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """A limit: "95" or "998", and its corners as SVG's `points`."""

    kind: str
    points: str


@dataclass(frozen=True, slots=True)
class MarkShape:
    """
    Lots at one place.

    Attributes:
        verdict: the value of the `Verdict`, which has a shape of its own.
        names: the lots, for a tooltip.
        is_off_scale: the share lies above the drawing; the mark stands at its upper edge.
    """

    x: float
    y: float
    verdict: str
    names: str
    is_off_scale: bool


@dataclass(frozen=True, slots=True)
class Label:
    """The number of a lot outside; `anchor` is "start" or "end", as SVG has it."""

    x: float
    y: float
    anchor: str
    text: str


@dataclass(frozen=True, slots=True)
class FunnelPlot:
    """The whole drawing, WIDTH by HEIGHT; the plot itself from LEFT, TOP to RIGHT, BOTTOM."""

    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    pooled_y: float
    lines: tuple[Line, ...]
    line_ends: tuple[Tick, ...]
    marks: tuple[MarkShape, ...]
    labels: tuple[Label, ...]
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = RIGHT
    top: int = TOP
    bottom: int = BOTTOM
    across: int = RIGHT - LEFT
    upwards: int = BOTTOM - TOP


@dataclass(frozen=True, slots=True)
class _Scale:
    """From patients and shares to the drawing's units."""

    size: float
    share: float

    def x(self, treated: float) -> float:
        return round(LEFT + (RIGHT - LEFT) * treated / self.size, 1)

    def y(self, share: float) -> float:
        return round(BOTTOM - (BOTTOM - TOP) * share / self.share, 1)


def funnel_plot(lots: Sequence[PlotLot], rate: float) -> FunnelPlot:
    """
    The drawing of at least one lot around the pooled rate.

    Raises:
        ValueError: no lot.
    """
    if not lots:
        raise ValueError("A funnel plot needs a lot.")
    largest = max(lot.treated for lot in lots)
    x_step = max(_step(largest), 1.0)
    highest = min(1.0, _highest(lots, rate) * _HEADROOM) or 0.05
    y_step = _step(highest)
    scale = _Scale(_up_to(largest, x_step), min(1.0, _up_to(highest, y_step)))
    curve = funnel_curve(rate, curve_sizes(round(scale.size)))
    return FunnelPlot(
        x_ticks=tuple(Tick(scale.x(at), f"{at:,.0f}") for at in _ticks(scale.size, x_step)),
        y_ticks=tuple(Tick(scale.y(at), _per_cent(at)) for at in _ticks(scale.share, y_step)),
        pooled_y=scale.y(rate),
        lines=tuple(_lines(curve, scale)),
        line_ends=tuple(_line_ends(curve[-1], rate, scale)),
        marks=tuple(_marks(lots, scale)),
        labels=tuple(_labels(lots, scale)),
    )


def _highest(lots: Sequence[PlotLot], rate: float) -> float:
    """The share the scale has to reach: every lot outside, and the funnel of a middling lot."""
    middling = sorted(lots, key=lambda lot: lot.treated)[len(lots) // 2]
    limit = middling.judgement.limits_998.high or rate
    return max([limit, rate, *(lot.share for lot in lots if lot.is_outside)])


def _step(highest: float) -> float:
    """1, 2 or 5 times a power of ten, so that few enough steps reach the highest value."""
    power = 10.0 ** floor(log10(highest / MOST_TICKS))
    return next(power * times for times in (1, 2, 5, 10) if power * times * MOST_TICKS >= highest)


def _up_to(highest: float, step: float) -> float:
    """The first whole number of steps that is not below the highest value."""
    return step * -(-highest // step)


def _ticks(highest: float, step: float) -> Iterator[float]:
    for number in range(round(highest / step) + 1):
        yield number * step


def _per_cent(share: float) -> str:
    return f"{round(share * 100, 4):g} %"


def _lines(curve: Sequence[CurvePoint], scale: _Scale) -> Iterator[Line]:
    """Each limit as one line or more: where it would lie below 0 it is not drawn."""
    for kind, of in (("95", _inner), ("998", _outer)):
        for end in ("low", "high"):
            corners: list[str] = []
            for point in curve:
                share = getattr(of(point), end)
                if share is not None:
                    corners.append(f"{scale.x(point.size)},{scale.y(share)}")
                elif corners:
                    yield Line(kind, " ".join(corners))
                    corners = []
            if corners:
                yield Line(kind, " ".join(corners))


def _inner(point: CurvePoint) -> Limits:
    return point.limits_95


def _outer(point: CurvePoint) -> Limits:
    return point.limits_998


def _line_ends(last: CurvePoint, rate: float, scale: _Scale) -> list[Tick]:
    """What is written at the right end of the lines, from the top, apart from one another."""
    ends = [
        (last.limits_998.high, "99.8 %"),
        (last.limits_95.high, "95 %"),
        (rate, "all lots"),
        (last.limits_95.low, "95 %"),
        (last.limits_998.low, "99.8 %"),
    ]
    drawn = [(scale.y(share), text) for share, text in ends if share is not None]
    placed: list[Tick] = []
    # From the bottom, where the lines crowd; the axis is written below it.
    lowest = float(BOTTOM)
    for at, text in reversed(drawn):
        lowest = min(at, lowest)
        placed.append(Tick(lowest, text))
        lowest -= LINE_HEIGHT
    return placed[::-1]


def _places(lots: Iterable[PlotLot]) -> list[list[PlotLot]]:
    """Lots of the same counts together, those inside first, so that the others lie on top."""
    places: dict[tuple[int, int], list[PlotLot]] = {}
    for lot in lots:
        places.setdefault((lot.treated, lot.events), []).append(lot)
    return sorted(places.values(), key=lambda those: (those[0].is_outside, those[0].treated))


def _marks(lots: Iterable[PlotLot], scale: _Scale) -> Iterator[MarkShape]:
    for those in _places(lots):
        lot = those[0]
        names = ", ".join(each.label for each in those)
        yield MarkShape(
            x=scale.x(lot.treated),
            y=scale.y(min(lot.share, scale.share)),
            verdict=lot.judgement.verdict.value,
            names=f"{names}: {lot.events} of {lot.treated}",
            is_off_scale=lot.share > scale.share,
        )


def _labels(lots: Iterable[PlotLot], scale: _Scale) -> Iterator[Label]:
    """
    The numbers of the lots outside, the least likely first. One that would lie on another moves by
    a line, and is left out if that does not help: the table has all of them.
    """
    outside = [those for those in _places(lots) if those[0].is_outside]
    taken: list[tuple[float, float, float]] = []
    for those in sorted(outside, key=lambda those: _likelihood(those[0])):
        lot, others = those[0], len(those) - 1
        text = f"{lot.label} and {others} more" if others else lot.label
        x, wide = scale.x(lot.treated), LETTER_WIDTH * len(text)
        is_left = x + MARK_SPACE + wide > RIGHT
        first = x - MARK_SPACE - wide if is_left else x + MARK_SPACE
        for shift in (0, LINE_HEIGHT, -LINE_HEIGHT):
            y = scale.y(lot.share) + BASELINE + shift
            if not any(_overlap((first, first + wide, y), other) for other in taken):
                taken.append((first, first + wide, y))
                end = "end" if is_left else "start"
                yield Label(round(first + wide * is_left, 1), round(y, 1), end, text)
                break


def _overlap(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    """Whether two texts (from, to, baseline) touch."""
    return one[0] < other[1] and other[0] < one[1] and abs(one[2] - other[2]) < LINE_HEIGHT


def _likelihood(lot: PlotLot) -> float:
    """How likely so many events, or so few, are by chance."""
    return lot.judgement.chance if lot.judgement.is_above else 1 - lot.judgement.chance
