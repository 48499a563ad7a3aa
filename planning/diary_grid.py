"""
Where visits stand in the diary: rows of five minutes by the wall clock, lanes beside each other.

A day always has 288 rows, so that 10:00 stands at the same height on every day of a week. On a day
on which the clocks change an hour's rows do not exist, or happen twice; `clock_change` names them.
What lies in both of the doubled hours stands in lanes, like everything that overlaps.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache
from itertools import pairwise

ROW_MINUTES = 5
ROWS_AN_HOUR = 60 // ROW_MINUTES
ROWS_A_DAY = 24 * ROWS_AN_HOUR
# Shown where nobody works and nothing is booked. Common practice, no source.
PLAIN_HOURS = (9, 17)


@dataclass(frozen=True, slots=True, order=True)
class Rows:
    """From row `first` to before row `end`; 0 <= first <= end <= ROWS_A_DAY, else ValueError."""

    first: int
    end: int

    def __post_init__(self) -> None:
        if not 0 <= self.first <= self.end <= ROWS_A_DAY:
            raise ValueError(f"A day has no rows from {self.first} to {self.end}.")

    @property
    def count(self) -> int:
        return self.end - self.first

    @property
    def minutes(self) -> int:
        return self.count * ROW_MINUTES


@dataclass(frozen=True, slots=True)
class Lane:
    """The place beside others that overlap: lane `number` (from 0) of `lanes`."""

    number: int
    lanes: int


@dataclass(frozen=True, slots=True)
class ClockChange:
    """The rows that the wall clock leaves out (`is_gap`), or goes through twice."""

    rows: Rows
    is_gap: bool


PLAIN_DAY = Rows(*(hour * ROWS_AN_HOUR for hour in PLAIN_HOURS))


def row_of(moment: time) -> int:
    """The row in which a time of day lies."""
    return (moment.hour * 60 + moment.minute) // ROW_MINUTES


def clock_of(row: int) -> str:
    """ "09:05" for the row that begins then; "24:00" for the end of the day."""
    hours, minutes = divmod(row * ROW_MINUTES, 60)
    return f"{hours:02}:{minutes:02}"


def in_hours(minutes: int) -> str:
    """ "3 h 20 min", "3 h", "20 min"."""
    hours, rest = divmod(minutes, 60)
    parts = [f"{hours} h"] if hours else []
    return " ".join([*parts, f"{rest} min"] if rest or not hours else parts)


def clipped(first: int, end: int) -> Rows:
    """Rows cut to the day: what runs past midnight ends with it."""
    first = min(max(first, 0), ROWS_A_DAY)
    return Rows(first, min(max(end, first), ROWS_A_DAY))


def rows_of(start: datetime, minutes: int, *, before: int = 0, after: int = 0) -> Rows:
    """
    The rows of something that starts at `start` by the wall clock and takes `minutes`.

    The length is what it takes, also across a change of the clocks. `before` and `after` are
    further minutes around it; started rows count whole.
    """
    minute = start.hour * 60 + start.minute
    first, end = minute // ROW_MINUTES, -(-(minute + minutes + after) // ROW_MINUTES)
    return clipped(first - -(-before // ROW_MINUTES), max(end, first + 1))


def rows_on(day: date, start: datetime, end: datetime) -> Rows:
    """The part of `day` that lies between two moments of its own zone; empty if none does."""
    first = 0 if start.date() < day else row_of(start.time())
    last = ROWS_A_DAY if end.date() > day else -(-(end.hour * 60 + end.minute) // ROW_MINUTES)
    if start.date() > day or end.date() < day:
        return Rows(0, 0)
    return clipped(first, last)


def past_rows(day: date, now: datetime) -> Rows:
    """The rows of `day` that are over or have begun at `now` by its own wall clock."""
    if day != now.date():
        return Rows(0, ROWS_A_DAY if day < now.date() else 0)
    return clipped(0, -(-(now.hour * 60 + now.minute) // ROW_MINUTES))


def shown_rows(*spans: Rows, otherwise: Rows = PLAIN_DAY) -> Rows:
    """All of the spans, out to full hours; `otherwise` where there are none."""
    filled = [span for span in spans if span.count] or [otherwise]
    first = min(span.first for span in filled) // ROWS_AN_HOUR
    end = -(-max(span.end for span in filled) // ROWS_AN_HOUR)
    return Rows(first * ROWS_AN_HOUR, end * ROWS_AN_HOUR)


def hours_of(shown: Rows) -> list[int]:
    """The rows with which an hour begins."""
    return [row for row in range(shown.first, shown.end) if row % ROWS_AN_HOUR == 0]


def joined(spans: Iterable[Rows]) -> list[Rows]:
    """The same rows, in order, each once; what touches becomes one."""
    found: list[tuple[int, int]] = []
    # Pairs of numbers, which Python orders at once: a week has some thousands.
    for first, end in sorted((span.first, span.end) for span in spans if span.first < span.end):
        if found and first <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], end)
        else:
            found.append((first, end))
    return [Rows(first, end) for first, end in found]


def without(spans: Iterable[Rows], taken: Iterable[Rows]) -> list[Rows]:
    """What `taken` leaves of `spans`, in order."""
    left: list[Rows] = []
    cuts = joined(taken)
    for span in joined(spans):
        first = span.first
        for cut in cuts:
            if cut.end <= first or cut.first >= span.end:
                continue
            if cut.first > first:
                left.append(Rows(first, cut.first))
            first = cut.end
        if first < span.end:
            left.append(Rows(first, span.end))
    return left


def lanes_of(spans: Sequence[Rows]) -> list[Lane]:
    """
    A lane for each span, so that none covers another; in the order of `spans`.

    Those that hang together by overlaps share the width evenly; each takes the first lane that is
    free at its first row.
    """
    order = sorted(range(len(spans)), key=lambda index: (spans[index].first, spans[index].end))
    numbers: dict[int, int] = {}
    lanes: dict[int, int] = {}
    cluster: list[int] = []
    ends: list[int] = []

    def close() -> None:
        lanes.update(dict.fromkeys(cluster, len(ends)))
        cluster.clear()
        ends.clear()

    for index in order:
        span = spans[index]
        if ends and span.first >= max(ends):
            close()
        free = next((lane for lane, end in enumerate(ends) if end <= span.first), len(ends))
        ends[free : free + 1] = [span.end]
        numbers[index] = free
        cluster.append(index)
    close()
    return [Lane(numbers[index], lanes[index]) for index in range(len(spans))]


@lru_cache(maxsize=1000)
def clock_change(day: date, zone: tzinfo) -> ClockChange | None:
    """What the clocks do on `day` in `zone`; None on a day of 24 hours."""
    start, end = (
        datetime.combine(on, time.min, tzinfo=zone).astimezone(UTC)
        for on in (day, day + timedelta(days=1))
    )
    steps = [start + timedelta(minutes=minutes) for minutes in range(0, 26 * 60, ROW_MINUTES)]
    for before, after in pairwise(step for step in steps if step <= end):
        old, new = before.astimezone(zone), after.astimezone(zone)
        turned = (new.utcoffset() or timedelta()) - (old.utcoffset() or timedelta())
        if turned and old.date() == day:
            # The wall clock jumps at `after`: from where it would have stood to where it stands.
            expected = old.replace(tzinfo=None) + timedelta(minutes=ROW_MINUTES)
            low, high = sorted([expected, new.replace(tzinfo=None)])
            return ClockChange(rows_on(day, low, high), is_gap=turned > timedelta())
    return None
