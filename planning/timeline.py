"""
A patient's past and what is expected as a drawing: where each dot, bar and label stands.

Across, everything is a part of the width in per cent, so that the drawing fits any page and its
words keep their size; down, it is in pixels.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum

from dateutil.relativedelta import relativedelta

LANE_HEIGHT, AXIS_HEIGHT = 50, 30
_MARGIN_DAYS = 14
_TICKS = 4  # more would touch each other on a narrow page
_EDGE = 60  # tenths of a per cent at either end, where a word would not fit


class TimelineError(ValueError):
    """A bar that ends before it begins."""


class BarKind(Enum):
    """What a bar stands for; each has a look of its own, not only a colour."""

    EFFECT = "effect"
    FADING = "fading"
    NEXT = "next"
    WINDOW = "window"


@dataclass(frozen=True, slots=True)
class Dot:
    """One day: a session, or the day of a review. `is_open` draws it hollow."""

    day: date
    text: str
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class Bar:
    """Some days, the first and the last among them."""

    first: date
    last: date
    kind: BarKind
    text: str

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise TimelineError("A bar ends no earlier than it begins.")


@dataclass(frozen=True, slots=True)
class Lane:
    label: str
    dots: tuple[Dot, ...] = ()
    bars: tuple[Bar, ...] = ()

    @property
    def days(self) -> Iterable[date]:
        return (
            *(dot.day for dot in self.dots),
            *(day for bar in self.bars for day in (bar.first, bar.last)),
        )


@dataclass(frozen=True, slots=True)
class DrawnDot:
    x: str
    text: str
    is_open: bool


@dataclass(frozen=True, slots=True)
class DrawnBar:
    x: str
    width: str
    kind: str
    text: str


@dataclass(frozen=True, slots=True)
class DrawnLane:
    """`top` of its label's line; the middle of its dots and bars is `middle`."""

    label: str
    top: int
    dots: tuple[DrawnDot, ...]
    bars: tuple[DrawnBar, ...]

    @property
    def baseline(self) -> int:
        return self.top + 16

    @property
    def middle(self) -> int:
        return self.top + 33


@dataclass(frozen=True, slots=True)
class Tick:
    """The first day of a month."""

    day: date
    x: str


@dataclass(frozen=True, slots=True)
class Drawing:
    lanes: tuple[DrawnLane, ...]
    ticks: tuple[Tick, ...]
    today_x: str
    height: int
    axis_y: int


def draw(lanes: Sequence[Lane], *, today: date) -> Drawing:
    """
    The lanes from above to below over the days they hold, today among them.

    Raises:
        TimelineError: nothing to draw.
    """
    days = [day for lane in lanes for day in lane.days]
    if not days:
        raise TimelineError("A timeline needs a day.")
    first = min(*days, today) - timedelta(days=_MARGIN_DAYS)
    last = max(*days, today) + timedelta(days=_MARGIN_DAYS)
    span = (last - first).days

    def place(day: date) -> int:
        """In tenths of a per cent."""
        return (day - first).days * 1000 // span

    drawn = tuple(
        DrawnLane(
            lane.label,
            number * LANE_HEIGHT,
            tuple(DrawnDot(_percent(place(dot.day)), dot.text, dot.is_open) for dot in lane.dots),
            tuple(_bar(bar, place(bar.first), place(bar.last)) for bar in lane.bars),
        )
        for number, lane in enumerate(lanes)
    )
    axis_y = len(lanes) * LANE_HEIGHT
    months = [day for day in _months(first, last) if _EDGE <= place(day) <= 1000 - _EDGE]
    step = max(-(-len(months) // _TICKS), 1)
    ticks = tuple(Tick(day, _percent(place(day))) for day in months[::step])
    return Drawing(drawn, ticks, _percent(place(today)), axis_y + AXIS_HEIGHT, axis_y)


def _bar(bar: Bar, first: int, last: int) -> DrawnBar:
    # A bar of a day is still seen.
    return DrawnBar(_percent(first), _percent(max(last - first, 6)), bar.kind.value, bar.text)


def _percent(tenths: int) -> str:
    return f"{tenths // 10}.{tenths % 10}%"


def _months(first: date, last: date) -> list[date]:
    """The first days of months between the two."""
    month = first.replace(day=1) + relativedelta(months=1)
    months = []
    while month <= last:
        months.append(month)
        month += relativedelta(months=1)
    return months
