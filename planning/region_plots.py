"""
What a patient got in each region over all sessions, as small plots of one scale.

Amounts that have no sum are never in one plot: fillers are one kind of amount (a volume), every
other product is a kind of its own, as units of activity belong to one product. The plots of one
kind share both scales, time and amount. Left and right differ by the mark's shape, by the line and
in words, not by colour alone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from planning.amounts import format_amount, plain_number, unit_of
from planning.plot_axis import Axis, axis_to
from planning.totals import AmountsDoNotAddError
from planning.vocabulary import Measure, Side

WIDTH, HEIGHT = 300, 150
LEFT, RIGHT, TOP, BOTTOM = 52, 292, 12, 124
# From so many sessions on, marks are drawn smaller, as they would hide one another.
MANY_SESSIONS = 30
# Left and right of one session stand beside each other.
_BESIDE = {Side.LEFT: -3, Side.RIGHT: 3, Side.MIDLINE: 0}
_SIDES = (Side.RIGHT, Side.LEFT, Side.MIDLINE)


@dataclass(frozen=True, slots=True)
class Given:
    """
    What one session gave into one region and side.

    Attributes:
        session: whatever tells sessions apart, in the order of time on one day.
        kind: whatever tells kinds of amount apart that have no sum; `kind_label` names it.
        amount: microlitres or centiunits; above 0.
    """

    session: int
    day: date
    kind: str
    kind_label: str
    measure: Measure
    region: str
    region_label: str
    side: Side
    amount: int

    def __post_init__(self) -> None:
        if self.amount <= 0:
            raise ValueError("What was given is above 0.")


@dataclass(frozen=True, slots=True)
class Mark:
    """One session; `words` are read out and shown at the pointer."""

    x: int
    y: int
    words: str


@dataclass(frozen=True, slots=True)
class SideSeries:
    """One side of one region: its marks, the line through them, and their sum."""

    side: Side
    marks: tuple[Mark, ...]
    line: str
    total: int
    sessions: int


@dataclass(frozen=True, slots=True)
class RegionPlot:
    """One region; `last_day` is when it was treated last, with `last` altogether."""

    region: str
    label: str
    sides: tuple[SideSeries, ...]
    total: int
    sessions: int
    last_day: date
    last: int
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = RIGHT
    bottom: int = BOTTOM

    @property
    def is_crowded(self) -> bool:
        return self.sessions >= MANY_SESSIONS

    @property
    def by_side(self) -> tuple[tuple[Side, int], ...]:
        """The sum of each side, 0 for one that got nothing."""
        totals = {series.side: series.total for series in self.sides}
        return tuple((side, totals.get(side, 0)) for side in _SIDES)


@dataclass(frozen=True, slots=True)
class Tick:
    at: int
    text: str
    anchor: str = "middle"


@dataclass(frozen=True, slots=True)
class KindOfAmount:
    """Every region that got this kind, most first, and the scale they share."""

    label: str
    measure: Measure
    total: int
    plots: tuple[RegionPlot, ...]
    y_ticks: tuple[Tick, ...]
    x_ticks: tuple[Tick, ...]

    @property
    def unit(self) -> str:
        return unit_of(self.measure)


@dataclass(frozen=True, slots=True)
class _Time:
    """From days to the drawing; one day alone stands in the middle."""

    first: date
    last: date

    def x(self, day: date) -> int:
        span = (self.last - self.first).days
        part = (day - self.first).days / span if span else 0.5
        return LEFT + 8 + round(part * (RIGHT - LEFT - 16))

    def ticks(self) -> tuple[Tick, ...]:
        if self.first == self.last:
            return (Tick(self.x(self.first), _told(self.first)),)
        return (
            Tick(LEFT, _told(self.first), "start"),
            Tick(RIGHT, _told(self.last), "end"),
        )


def region_plots(given: Iterable[Given]) -> tuple[KindOfAmount, ...]:
    """
    The plots, fillers and other volumes before doses, then by name. Empty for nothing given.

    All kinds share the time from the first session to the last, so that pages read across.

    Raises:
        AmountsDoNotAddError: one kind in two measures.
    """
    rows = list(given)
    if not rows:
        return ()
    time = _Time(min(row.day for row in rows), max(row.day for row in rows))
    kinds: dict[str, list[Given]] = defaultdict(list)
    for row in rows:
        kinds[row.kind].append(row)
    drawn = [_kind(of_kind, time) for of_kind in kinds.values()]
    return tuple(sorted(drawn, key=lambda kind: (kind.measure is Measure.DOSE, kind.label)))


def _kind(rows: Sequence[Given], time: _Time) -> KindOfAmount:
    measure = rows[0].measure
    if any(row.measure is not measure for row in rows):
        raise AmountsDoNotAddError(f"{rows[0].kind_label} comes in two measures.")
    sums = _summed(rows)
    axis = axis_to(max(sums.values()))
    regions: dict[str, list[Given]] = defaultdict(list)
    for row in rows:
        regions[row.region].append(row)
    plots = [_region(of_region, sums, axis, time) for of_region in regions.values()]
    return KindOfAmount(
        label=rows[0].kind_label,
        measure=measure,
        total=sum(row.amount for row in rows),
        plots=tuple(sorted(plots, key=lambda plot: (-plot.total, plot.label))),
        y_ticks=tuple(Tick(_y(at, axis), plain_number(at, measure)) for at in axis.ticks),
        x_ticks=time.ticks(),
    )


def _summed(rows: Iterable[Given]) -> dict[tuple[str, Side, date, int], int]:
    """Two products of one kind in one session and place are one mark."""
    sums: dict[tuple[str, Side, date, int], int] = defaultdict(int)
    for row in rows:
        sums[row.region, row.side, row.day, row.session] += row.amount
    return sums


def _region(
    rows: Sequence[Given],
    sums: dict[tuple[str, Side, date, int], int],
    axis: Axis,
    time: _Time,
) -> RegionPlot:
    region, label, measure = rows[0].region, rows[0].region_label, rows[0].measure
    sides: dict[Side, list[tuple[date, int]]] = defaultdict(list)
    for side, day, session in sorted({(row.side, row.day, row.session) for row in rows}):
        sides[side].append((day, sums[region, side, day, session]))
    last_day, last_session = max((row.day, row.session) for row in rows)
    return RegionPlot(
        region=region,
        label=label,
        sides=tuple(
            _series(side, sides[side], axis, time, measure) for side in _SIDES if side in sides
        ),
        total=sum(row.amount for row in rows),
        sessions=len({row.session for row in rows}),
        last_day=last_day,
        last=sum(row.amount for row in rows if row.session == last_session),
    )


def _series(
    side: Side,
    steps: Sequence[tuple[date, int]],
    axis: Axis,
    time: _Time,
    measure: Measure,
) -> SideSeries:
    marks = tuple(
        Mark(
            x=time.x(day) + _BESIDE[side],
            y=_y(amount, axis),
            words=f"{side.label}, {_told(day)}: {format_amount(amount, measure)}",
        )
        for day, amount in steps
    )
    return SideSeries(
        side=side,
        marks=marks,
        line=" ".join(f"{mark.x},{mark.y}" for mark in marks) if len(marks) > 1 else "",
        total=sum(amount for _, amount in steps),
        sessions=len(steps),
    )


def _y(amount: int, axis: Axis) -> int:
    return BOTTOM - axis.length(amount, BOTTOM - TOP)


def _told(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
