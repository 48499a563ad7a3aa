"""
Who of the waiting list fits a time that came free, in which order, and how long an offer holds it.

Asked are plain preferences; whether people and rooms are free is found by `free_slots`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from planning.free_slots import (
    CELL_MINUTES,
    DiarySpans,
    RoomAt,
    Slot,
    Span,
    VisitLength,
    cell_of,
    free_slots,
    local_midnights,
    moment_of,
)
from planning.quiet_hours import QuietHours, is_quiet, not_quiet_from
from planning.vocabulary import Term

NOON = time(12)
"""By the clinic's clock. What starts before it is in the morning."""
EVERY_DAY = frozenset(range(1, 8))


class DayPart(Term):
    """Which part of the day suits; the start decides."""

    ANY = "any", "Any time"
    MORNING = "morning", "Morning"
    AFTERNOON = "afternoon", "Afternoon"

    def holds(self, clock: time) -> bool:
        if self is DayPart.ANY:
            return True
        return (clock < NOON) == (self is DayPart.MORNING)


@dataclass(frozen=True, slots=True)
class Need:
    """
    What somebody on the waiting list asks for.

    Attributes:
        key: the number of the entry, which also decides between two who wait equally long.
        since: from when on they wait; aware.
        visit: what the visit takes, in cells.
        rooms: those that suit; None if the visit needs none.
        practitioner, site: the only one that suits; None for any.
        first, last: the days that suit, both included; no `last` for ever.
        weekdays: 1 for Monday to 7 for Sunday (ISO 8601).
        notice: so long before the start they must hear of it.
        busy: when the patient has something else, in cells.
    """

    key: int
    since: datetime
    visit: VisitLength
    first: date
    is_urgent: bool = False
    rooms: Sequence[RoomAt] | None = None
    practitioner: int | None = None
    site: int | None = None
    last: date | None = None
    weekdays: frozenset[int] = EVERY_DAY
    part: DayPart = DayPart.ANY
    notice: timedelta = timedelta(0)
    busy: Sequence[Span] = ()


@dataclass(frozen=True, slots=True)
class Freed:
    """
    A time that came free.

    Attributes:
        span: the starts that are looked at, in cells: from the freed start to the freed end.
        diary: when the practitioner works, and what is taken of theirs and of the rooms.
    """

    practitioner: int
    span: Span
    diary: DiarySpans


def suits(need: Need, starts_at: datetime, *, now: datetime, zone: tzinfo) -> bool:
    """Whether day, part of the day and notice of a start are what was asked for; all aware."""
    local = starts_at.astimezone(zone)
    return (
        need.first <= local.date()
        and (need.last is None or local.date() <= need.last)
        and local.isoweekday() in need.weekdays
        and need.part.holds(local.time())
        and starts_at - now >= max(need.notice, timedelta(0))
    )


def fits(need: Need, freed: Freed, *, now: datetime, zone: tzinfo) -> Slot | None:
    """
    Where the visit fits into a freed time: the first start in it, on the marks of five minutes, at
    which practitioner, patient and a suitable room are free. None if nowhere.

    The visit may go on into time that was free already.
    """
    if need.practitioner not in (None, freed.practitioner):
        return None
    first, end = max(freed.span[0], cell_of(now)), freed.span[1]
    if first >= end:
        return None
    first_day, last_day = (moment_of(cell).astimezone(zone).date() for cell in (first, end))
    slots = free_slots(
        DiarySpans(
            [one for one in freed.diary.working if need.site in (None, one.site)],
            freed.diary.practitioners_busy,
            freed.diary.rooms_busy,
            need.busy,
        ),
        need.visit,
        window=(first, end),
        midnights=local_midnights(first_day, last_day, zone),
        rooms=need.rooms,
        step_minutes=CELL_MINUTES,
        limit=end - first,
    )
    return next((slot for slot in slots if suits(need, slot.starts_at, now=now, zone=zone)), None)


def in_order(needs: Iterable[Need]) -> list[Need]:
    """The urgent ones first, then by how long they wait."""
    return sorted(needs, key=lambda need: (not need.is_urgent, need.since, need.key))


def held_until(
    now: datetime,
    starts_at: datetime,
    *,
    minutes: int,
    margin_minutes: int,
    quiet: QuietHours,
    zone: tzinfo,
) -> datetime | None:
    """
    Until when an offer made at `now` holds its time, in UTC; None when it is too late for one.

    Args:
        minutes: how long, counted outside of quiet hours, so that nobody loses a time in the night.
        margin_minutes: the offer ends so long before the start at the latest. If that moment lies
            in quiet hours, it ends as they begin.
    """
    latest = starts_at - timedelta(minutes=margin_minutes)
    just_before = latest - timedelta.resolution
    if is_quiet(just_before, quiet, zone):
        latest = _quiet_since(just_before, quiet, zone)
    end = min(_after(now, timedelta(minutes=minutes), quiet, zone), latest.astimezone(UTC))
    return end if end > now else None


def _after(at: datetime, left: timedelta, quiet: QuietHours, zone: tzinfo) -> datetime:
    """The moment by which so much time outside of quiet hours has passed."""
    while True:
        at = not_quiet_from(at, quiet, zone)
        begins = _next_quiet(at, quiet, zone)
        if begins is None or at + left <= begins:
            return at + left
        left -= begins - at
        at = begins


def _next_quiet(at: datetime, quiet: QuietHours, zone: tzinfo) -> datetime | None:
    """When quiet hours begin after a moment outside of them."""
    if quiet.begins == quiet.ends:
        return None
    day = at.astimezone(zone).date()
    begins = datetime.combine(day, quiet.begins, tzinfo=zone).astimezone(UTC)
    if begins <= at:
        following = day + timedelta(days=1)
        begins = datetime.combine(following, quiet.begins, tzinfo=zone).astimezone(UTC)
    return begins


def _quiet_since(at: datetime, quiet: QuietHours, zone: tzinfo) -> datetime:
    """When the quiet hours began in which `at` lies."""
    wall = at.astimezone(zone)
    day = wall.date()
    if quiet.is_over_midnight and wall.time() < quiet.ends:
        day -= timedelta(days=1)
    return datetime.combine(day, quiet.begins, tzinfo=zone).astimezone(UTC)
