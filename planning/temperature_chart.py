"""
A fridge's readings as a drawing: where each mark, line and label stands.

Whole units of a box of `WIDTH` by `HEIGHT`, x to the right and y downwards as SVG has them. What is
out of range has another shape, not only another colour: a triangle that points to where it lies.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from planning.temperatures import Reading

WIDTH, HEIGHT = 960, 300
_LEFT, _RIGHT, _TOP, _BOTTOM = 64, 12, 14, 34
_MARGIN_TENTHS = 15  # shown beyond the range and beyond the readings
_TICKS = 6
_MARK = 7  # half the width of a triangle


class ChartError(ValueError):
    """A span of no time, or a range that is none."""


@dataclass(frozen=True, slots=True)
class Mark:
    """
    One reading.

    Attributes:
        at, temperature: the reading's own.
        x, y: its middle; `top` and `bottom` the ends of what the thermometer remembered.
        is_cold, is_warm: below, above the range, by the temperature or the memory.
        shape: the corners of its triangle, as `points` of an SVG polygon; "" for a dot.
    """

    at: datetime
    temperature: int
    x: int
    y: int
    top: int
    bottom: int
    is_cold: bool
    is_warm: bool
    shape: str


@dataclass(frozen=True, slots=True)
class Tick:
    """A day on the axis of time, at its midnight."""

    at: datetime
    x: int


@dataclass(frozen=True, slots=True)
class Chart:
    """
    Attributes:
        left, right, bottom: the box that readings are drawn in.
        warm_y, cold_y: the upper and the lower end of the range.
        line: through the readings in the order of time, as `points` of an SVG polyline.
    """

    marks: tuple[Mark, ...]
    ticks: tuple[Tick, ...]
    warm_y: int
    cold_y: int
    line: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = _LEFT
    right: int = WIDTH - _RIGHT
    bottom: int = HEIGHT - _BOTTOM

    @property
    def band(self) -> int:
        """Height of the range."""
        return self.cold_y - self.warm_y

    @property
    def inner_width(self) -> int:
        return self.right - self.left

    @property
    def label_x(self) -> int:
        """Where the temperatures at the left end."""
        return self.left - 8


def draw(
    readings: Sequence[Reading], *, lowest: int, highest: int, start: datetime, end: datetime
) -> Chart:
    """
    The readings from `start` to `end` against one range, in tenths of a degree.

    Args:
        readings: in the order of time; those outside of the span are left out.
        start, end: with a zone, as people tell the time: days begin at its midnight.

    Raises:
        ChartError: `end` not after `start`, or `highest` not above `lowest`.
    """
    if end <= start:
        raise ChartError("A chart ends after it starts.")
    if highest <= lowest:
        raise ChartError("A range has its lower temperature first.")
    shown = [reading for reading in readings if start <= reading.at <= end]
    coldest = min([lowest, *(reading.least for reading in shown)]) - _MARGIN_TENTHS
    warmest = max([highest, *(reading.most for reading in shown)]) + _MARGIN_TENTHS
    inner = HEIGHT - _TOP - _BOTTOM

    def x_of(moment: datetime) -> int:
        part = (moment - start) / (end - start)
        return _LEFT + round(part * (WIDTH - _LEFT - _RIGHT))

    def y_of(tenths: int) -> int:
        return _TOP + (warmest - tenths) * inner // (warmest - coldest)

    def mark(reading: Reading) -> Mark:
        is_cold, is_warm = reading.least < lowest, reading.most > highest
        x, y = x_of(reading.at), y_of(reading.temperature)
        top, bottom = y_of(reading.most), y_of(reading.least)
        shape = _triangle(x, top, up=True) if is_warm else ""
        shape = _triangle(x, bottom, up=False) if is_cold and not is_warm else shape
        return Mark(reading.at, reading.temperature, x, y, top, bottom, is_cold, is_warm, shape)

    marks = tuple(mark(reading) for reading in shown)
    return Chart(
        marks=marks,
        ticks=tuple(Tick(day, x_of(day)) for day in _days(start, end)),
        warm_y=y_of(highest),
        cold_y=y_of(lowest),
        line=" ".join(f"{one.x},{one.y}" for one in marks),
    )


def _triangle(x: int, y: int, *, up: bool) -> str:
    tip = y - _MARK if up else y + _MARK
    return f"{x - _MARK},{y} {x + _MARK},{y} {x},{tip}"


def _days(start: datetime, end: datetime) -> list[datetime]:
    """At most `_TICKS` midnights, evenly apart, the last one of the span among them."""
    first = start.replace(hour=0, minute=0, second=0, microsecond=0)
    days = max((end - first).days, 1)
    step = -(-days // _TICKS)
    midnights = [first + timedelta(days=day) for day in range(days, -1, -step)]
    return [midnight for midnight in reversed(midnights) if start <= midnight <= end]
