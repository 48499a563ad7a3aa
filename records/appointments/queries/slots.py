"""Times at which a visit fits, for whoever books it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from itertools import groupby, islice
from operator import attrgetter
from typing import Self

from django.utils import timezone
from django.utils.functional import cached_property

from clinic.hours.queries import Hours, read_hours
from clinic.rooms.models import Room
from clinic.staff.models import User
from clinic.visit_kinds.models import STEP_MINUTES as DIARY_STEP
from clinic.visit_kinds.models import VisitKind
from planning.free_slots import (
    CELL_SECONDS,
    DiarySpans,
    RoomAt,
    Span,
    VisitLength,
    cell_of,
    free_slots,
    local_midnights,
)
from records.appointments.models import Appointment, cells_of
from records.appointments.queries.day import practitioners
from records.appointments.queries.taken import Taken, taken
from records.patients.models import Patient

STEP_MINUTES = 15
# So far ahead it is looked for; a clinic that is booked out longer has a waiting list.
FURTHEST_DAYS = 90
# Most find their times on the first days; only for the others more is read at a time.
_FIRST_DAYS, _AT_A_TIME_DAYS = 4, 12
_STARTS_A_DAY = 24 * 60 // STEP_MINUTES


@dataclass(frozen=True, slots=True)
class Wanted:
    """
    A visit that looks for its time.

    Attributes:
        minutes: None for what is usual for the kind.
        only: the one practitioner it can be with; None for anybody.
        first_choice: whose times come first.
        first, last: the days that suit, both included.
        moving: the appointment that is moved and makes room for itself.
    """

    kind: VisitKind
    first: date
    last: date
    minutes: int | None = None
    patient: Patient | None = None
    only: User | None = None
    first_choice: User | None = None
    moving: Appointment | None = None

    @property
    def length(self) -> VisitLength:
        """What is moved keeps the preparation and buffer that it was booked with."""
        held = self.moving or self.kind
        return VisitLength.of_minutes(
            self.minutes or self.kind.minutes, held.preparation_minutes, held.buffer_minutes
        )


@dataclass(frozen=True)
class Fit:
    """A time that fits, and with whom and where."""

    starts_at: datetime
    practitioner: User
    room: Room | None

    @cached_property
    def local(self) -> datetime:
        """The start by the clinic's clock."""
        return timezone.localtime(self.starts_at)

    @cached_property
    def value(self) -> str:
        """As the booking form sends it."""
        room = self.room.pk if self.room else ""
        return f"{self.local:%Y-%m-%dT%H:%M}|{self.practitioner.pk}|{room}"

    def is_at(self, value: str) -> bool:
        """Whether it is at the time of another fit's `value`."""
        return bool(value) and value.partition("|")[0] == self.value.partition("|")[0]

    @property
    def day(self) -> date:
        return self.local.date()

    @property
    def clock(self) -> str:
        return f"{self.local:%H:%M}"


@dataclass(frozen=True, slots=True)
class FitDay:
    """Some of the times that fit on one day; `more` are left out."""

    day: date
    fits: list[Fit]
    more: int


def nearest(wanted: Wanted, near: datetime, limit: int = 3) -> list[Fit]:
    """
    The times nearest to a moment, the first choice's before others', for whoever lost a time.

    Days about the moment are looked at first, then the following ones; a moment after the days that
    suit has its own.
    """
    around = timezone.localdate(near)
    if around > wanted.last:
        wanted = replace(wanted, last=around + timedelta(days=_AT_A_TIME_DAYS))
    search = _Search.of(wanted)
    for days in (7, _AT_A_TIME_DAYS, FURTHEST_DAYS):
        first = max(wanted.first, around - timedelta(days=days))
        last = min(wanted.last, around + timedelta(days=days))
        found = search.fits(search.days(first, last), near=near, limit=limit)
        if len(found) >= limit or (first == wanted.first and last == wanted.last):
            break
    return found


def who_is_free(wanted: Wanted, starts_at: datetime) -> Fit | None:
    """With whom, and where, a visit fits at just that time; None if nobody is free then."""
    day = timezone.localdate(starts_at)
    search = _Search.of(replace(wanted, first=day, last=day))
    found = search.fits(
        search.days(), near=starts_at, limit=1, step_minutes=DIARY_STEP, soonest=starts_at
    )
    return found[0] if found and found[0].starts_at == starts_at else None


def next_days(wanted: Wanted, *, days: int = 4, per_day: int = 6, chosen: str = "") -> list[FitDay]:
    """
    The next days on which something fits, each with a few of its times, spread over the day, and
    with the time that was chosen (`Fit.value`) if it still fits, with whomever.
    """
    found = []
    for day, fits in islice(days_that_fit(wanted), days):
        few = spread(fits, per_day)
        shown = [fit for fit in fits if fit in few or fit.is_at(chosen)]
        found.append(FitDay(day, shown, len(fits) - len(shown)))
    return found


def days_that_fit(wanted: Wanted) -> Iterator[tuple[date, list[Fit]]]:
    """The days on which something fits with all their times, read as far as they are asked for."""
    search = _Search.of(wanted)
    days, count = iter(search.days()), _FIRST_DAYS
    while some := list(islice(days, count)):
        fits = search.fits(some, limit=len(some) * _STARTS_A_DAY)
        fits.sort(key=attrgetter("starts_at"))
        for day, of_day in groupby(fits, key=attrgetter("day")):
            yield day, list(of_day)
        count = _AT_A_TIME_DAYS


def spread(fits: Sequence[Fit], count: int) -> list[Fit]:
    """At most `count` of them, the first and the last included, evenly between."""
    if len(fits) <= count:
        return list(fits)
    last = len(fits) - 1
    return [fits[round(position * last / (count - 1))] for position in range(count)]


@dataclass(frozen=True, slots=True)
class _Search:
    """
    A visit that looks for its time, with what is the same on all days: whom it can be with, where
    (None where it needs no room), and their hours.
    """

    wanted: Wanted
    people: Mapping[int, User]
    rooms: Mapping[int, Room] | None
    hours: Hours

    @classmethod
    def of(cls, wanted: Wanted) -> Self:
        people = [wanted.only] if wanted.only else practitioners()
        by_key = {person.pk: person for person in people}
        rooms = _suitable(wanted.kind)
        hours = read_hours(by_key.values(), wanted.first, wanted.last)
        by_room = None if rooms is None else {room.pk: room for room in rooms}
        return cls(wanted, by_key, by_room, hours)

    def days(self, first: date | None = None, last: date | None = None) -> list[date]:
        """The days on which the clinic opens, from today on."""
        first, last = first or self.wanted.first, last or self.wanted.last
        return self.hours.open_days(max(first, timezone.localdate()), last)

    def fits(
        self,
        days: Sequence[date],
        *,
        near: datetime | None = None,
        limit: int,
        step_minutes: int = STEP_MINUTES,
        soonest: datetime | None = None,
    ) -> list[Fit]:
        """
        The times on these days, in their order: a constant number of queries.

        Args:
            soonest: the first moment that is looked at; None for now.
        """
        working = self.hours.spans(self.people, days)
        if not working:
            return []
        # Before anybody works, and afterwards, nothing fits: what is booked there is not read.
        opens, closes = min(span.start for span in working), max(span.end for span in working)
        soonest = soonest or timezone.now()
        window = max(opens, -(-int(soonest.timestamp()) // CELL_SECONDS)), closes
        rooms, first_choice, length = self.rooms, self.wanted.first_choice, self.wanted.length
        slots = free_slots(
            DiarySpans(working, *self._taken(window, length)),
            length,
            window=window,
            midnights=local_midnights(days[0], days[-1], timezone.get_current_timezone()),
            rooms=None
            if rooms is None
            else [RoomAt(room.pk, room.site_id) for room in rooms.values()],
            step_minutes=step_minutes,
            practitioner=first_choice.pk if first_choice else None,
            near=None if near is None else cell_of(near),
            limit=limit,
        )
        return [
            Fit(
                slot.starts_at,
                self.people[slot.practitioner],
                rooms[slot.room] if rooms and slot.room else None,
            )
            for slot in slots
        ]

    def _taken(self, window: Span, length: VisitLength) -> Taken:
        needed = window[0] - length.before, window[1] + length.length + length.after
        people, rooms = self.people.values(), (self.rooms or {}).values()
        patient, moving = self.wanted.patient, self.wanted.moving
        return taken(people, rooms, needed, patient=patient, moving=moving)


def _suitable(kind: VisitKind) -> list[Room] | None:
    """The rooms in use that suit the kind; None where it needs none."""
    if kind._state.adding:
        return None
    rooms = list(kind.rooms.in_use().select_related("site"))
    return rooms or None


def room_that_suits(appointment: Appointment, kind: VisitKind) -> Room | None:
    """
    The first room that suits the kind and is free for the appointment, its own before others, at
    the practitioner's site where one is known; None where the kind needs none or none is free.
    """
    rooms = _suitable(kind)
    if rooms is None:
        return None
    day = timezone.localdate(appointment.starts_at)
    held, _ = cells_of(appointment)
    hours = read_hours([appointment.practitioner], day, day)
    sites = {
        span.site
        for span in hours.spans([appointment.practitioner_id])
        if span.start < held.stop and span.end > held.start
    }
    moving = appointment if appointment.pk else None
    _, busy, _ = taken([appointment.practitioner], rooms, (held.start, held.stop), moving=moving)
    for room in sorted(rooms, key=lambda room: room.pk != appointment.room_id):
        if sites and room.site_id not in sites:
            continue
        if all(end <= held.start or start >= held.stop for start, end in busy.get(room.pk, ())):
            return room
    return None
