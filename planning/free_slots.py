"""
Times at which a visit fits: practitioner, room and patient are free, and the clinic works.

Time is counted in cells of five minutes since 1970 (UTC), so a change of the clocks neither makes
nor hides one; spans of cells are half open. Each calendar is one integer with a bit for each cell.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from heapq import merge
from typing import NamedTuple

CELL_MINUTES = 5
CELL_SECONDS = CELL_MINUTES * 60
STEPS_MINUTES = (5, 10, 15, 30)
"""Clocks are changed by whole half hours, so marks counted from midnight keep to these steps."""

Span = tuple[int, int]
"""From a cell to before another."""


class SlotError(ValueError):
    """A question that no diary can answer."""


class WorkingSpan(NamedTuple):
    """A practitioner sees patients at a site from the cell `start` to before `end`."""

    practitioner: int
    site: int
    start: int
    end: int


class RoomAt(NamedTuple):
    room: int
    site: int


class Slot(NamedTuple):
    """A time that fits: the visit starts with the cell `start`. No `room` where none is needed."""

    start: int
    practitioner: int
    site: int
    room: int | None

    @property
    def starts_at(self) -> datetime:
        return moment_of(self.start)


@dataclass(frozen=True, slots=True)
class VisitLength:
    """
    What a visit takes, in cells: practitioner and room are needed from `before` its start to
    `after` its end, the patient from start to end.

    Raises:
        SlotError: it takes no time.
    """

    length: int
    before: int = 0
    after: int = 0

    def __post_init__(self) -> None:
        if self.length < 1 or min(self.before, self.after) < 0:
            raise SlotError("A visit takes five minutes or more, preparation and buffer 0 or more.")

    @classmethod
    def of_minutes(cls, minutes: int, preparation: int = 0, buffer: int = 0) -> VisitLength:
        """Minutes that are no whole cells take the cell they begin as well."""
        length, before, after = (-(-n // CELL_MINUTES) for n in (minutes, preparation, buffer))
        return cls(length, before, after)


@dataclass(frozen=True, slots=True)
class DiarySpans:
    """
    Who works when, and what is taken: visits, absences, everything in which nothing can be booked.

    Working spans of one practitioner that touch at one site are one span.
    """

    working: Sequence[WorkingSpan]
    practitioners_busy: Mapping[int, Iterable[Span]]
    rooms_busy: Mapping[int, Iterable[Span]]
    patient_busy: Sequence[Span] = ()


def cell_of(moment: datetime) -> int:
    """The cell in which an aware moment lies."""
    return int(moment.timestamp()) // CELL_SECONDS


def moment_of(cell: int) -> datetime:
    """When a cell begins, in UTC."""
    return datetime.fromtimestamp(cell * CELL_SECONDS, tz=UTC)


def local_midnights(first: date, last: date, zone: tzinfo) -> list[int]:
    """The cells with which the days from `first` to `last` begin by the clocks of `zone`."""
    days = (first + timedelta(days=n) for n in range((last - first).days + 1))
    return [cell_of(datetime.combine(day, time.min, tzinfo=zone)) for day in days]


def free_slots(
    diary: DiarySpans,
    visit: VisitLength,
    *,
    window: Span,
    midnights: Sequence[int],
    rooms: Sequence[RoomAt] | None = None,
    step_minutes: int = 15,
    practitioner: int | None = None,
    near: int | None = None,
    limit: int = 5,
) -> list[Slot]:
    """
    The first `limit` starts at which the visit fits, each start once.

    Args:
        window: the starts that are asked for.
        midnights: the cells with which the days of the window begin by the clinic's clock, in
            order; see `local_midnights`. Starts lie on marks of `step_minutes` from there.
        rooms: those that suit, the preferred ones first; None if the visit needs no room.
        practitioner: whose slots come first.
        near: slots come in the order of their distance from this cell, an earlier one before a
            later one that is as far; None for the earliest first.

    Returns:
        For each start the first practitioner (the preferred one, then in the order of
        `diary.working`) who is free then, and the first room that is free at the same site.

    Raises:
        SlotError: a step that a clock change would break.
    """
    if step_minutes not in STEPS_MINUTES:
        raise SlotError(f"A step of {step_minutes} minutes: use one of {STEPS_MINUTES}.")
    sheet = _Sheet(window[0] - visit.before, window[1] + visit.length + visit.after)
    possible = (
        sheet.marks(midnights, step_minutes // CELL_MINUTES)
        & sheet.taken([window])
        & _runs(sheet.free(diary.patient_busy), visit.length)
    )
    held = visit.before + visit.length + visit.after
    room_starts = [
        (one, _runs(sheet.free(diary.rooms_busy.get(one.room, ())), held) << visit.before)
        for one in rooms or ()
    ]
    middle = (window[0] if near is None else near) - sheet.first
    offers = []
    for order, ((person, site), spans) in enumerate(_by_person_and_site(diary.working).items()):
        free = sheet.taken(spans) & sheet.free(diary.practitioners_busy.get(person, ()))
        starts = possible & (_runs(free, held) << visit.before)
        here = [(one.room, mask) for one, mask in room_starts if one.site == site]
        if rooms is not None:
            starts &= _any(mask for _, mask in here)
        rank = (person != practitioner, order)
        offers.append(_offers(starts, middle, rank, (person, site, here)))
    return _first(merge(*offers), limit, sheet.first)


class _Sheet:
    """The cells from `first` to before `end` as bits; what lies outside is cut off."""

    def __init__(self, first: int, end: int) -> None:
        self.first = first
        self.width = max(end - first, 0)

    def taken(self, spans: Iterable[Span]) -> int:
        """A bit for each cell of the spans."""
        cells = bytearray(b"0") * self.width
        for start, end in spans:
            low, high = max(start - self.first, 0), min(end - self.first, self.width)
            if low < high:
                cells[low:high] = b"1" * (high - low)
        return _bits(cells)

    def free(self, spans: Iterable[Span]) -> int:
        """A bit for each cell outside of the spans."""
        return ((1 << self.width) - 1) & ~self.taken(spans)

    def marks(self, midnights: Sequence[int], step: int) -> int:
        """A bit for each `step`th cell of each day."""
        cells = bytearray(b"0") * self.width
        end = self.first + self.width
        for midnight, following in zip(midnights, [*midnights[1:], end], strict=True):
            for cell in range(midnight, min(following, end), step):
                if cell >= self.first:
                    cells[cell - self.first] = ord("1")
        return _bits(cells)


def _bits(cells: bytearray) -> int:
    return int(cells[::-1], 2) if cells else 0


def _runs(free: int, length: int) -> int:
    """A bit for each cell with which `length` free ones in a row begin."""
    covered = 1
    while covered < length:
        further = min(covered, length - covered)
        free &= free >> further
        covered += further
    return free


def _any(masks: Iterable[int]) -> int:
    together = 0
    for mask in masks:
        together |= mask
    return together


def _by_person_and_site(working: Iterable[WorkingSpan]) -> dict[tuple[int, int], list[Span]]:
    spans: dict[tuple[int, int], list[Span]] = {}
    for span in working:
        spans.setdefault((span.practitioner, span.site), []).append((span.start, span.end))
    return spans


_Place = tuple[int, int, list[tuple[int, int]]]
"""Practitioner, site, and the rooms there with the starts at which each is free."""

_Offer = tuple[bool, int, int, int, _Place]
"""In the order of the answer: others than the preferred practitioner, distance, start, order."""


def _offers(starts: int, middle: int, rank: tuple[bool, int], place: _Place) -> Iterator[_Offer]:
    is_other, order = rank
    for start in _outwards(starts, middle):
        yield is_other, abs(start - middle), start, order, place


def _outwards(mask: int, middle: int) -> Iterator[int]:
    """The bits of `mask` by their distance from `middle`, the lower one first if equal."""
    middle = max(middle, 0) if middle < mask.bit_length() else mask.bit_length()
    below, above = mask & ((1 << middle) - 1), mask >> middle
    while below or above:
        low = below.bit_length() - 1
        high = middle + (above & -above).bit_length() - 1
        if below and (not above or middle - low <= high - middle):
            yield low
            below ^= 1 << low
        else:
            yield high
            above &= above - 1


def _first(offers: Iterable[_Offer], limit: int, first: int) -> list[Slot]:
    found: dict[int, Slot] = {}
    for _, _, start, _, (person, site, rooms) in offers:
        if len(found) >= limit:
            break
        if start not in found:
            room = next((room for room, mask in rooms if mask >> start & 1), None)
            found[start] = Slot(first + start, person, site, room)
    return list(found.values())
