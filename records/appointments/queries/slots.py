"""Times at which a visit fits, for whoever books it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from django.db.models import Q
from django.utils import timezone

from clinic.database.moments import moment_at
from clinic.hours.queries import read_hours, rooms_away
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
from records.appointments.models import Appointment, cells_at, cells_of
from records.appointments.queries.day import practitioners
from records.patients.models import Patient

STEP_MINUTES = 15
# So far ahead it is looked for; a clinic that is booked out longer has a waiting list.
FURTHEST_DAYS = 90
# Most find their times within a week; only for the others more is read at a time.
_FIRST_DAYS, _AT_A_TIME_DAYS = 7, 15
_ENOUGH = 400
_TAKEN = (
    "practitioner_id", "room_id", "patient_id",
    "starts_at", "minutes", "preparation_minutes", "buffer_minutes",
)  # fmt: skip


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


@dataclass(frozen=True, slots=True)
class Fit:
    """A time that fits, and with whom and where."""

    starts_at: datetime
    practitioner: User
    room: Room | None

    @property
    def value(self) -> str:
        """As the booking form sends it."""
        local = timezone.localtime(self.starts_at)
        return f"{local:%Y-%m-%dT%H:%M}|{self.practitioner.pk}|{self.room.pk if self.room else ''}"

    def is_at(self, value: str) -> bool:
        """Whether it is at the time of another fit's `value`."""
        return bool(value) and value.partition("|")[0] == self.value.partition("|")[0]

    @property
    def day(self) -> date:
        return timezone.localdate(self.starts_at)


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
    for days in (7, _AT_A_TIME_DAYS, FURTHEST_DAYS):
        first = max(wanted.first, around - timedelta(days=days))
        last = min(wanted.last, around + timedelta(days=days))
        found = _fits(wanted, first, last, near=near, limit=limit)
        if len(found) >= limit or (first == wanted.first and last == wanted.last):
            break
    return found


def who_is_free(wanted: Wanted, starts_at: datetime) -> Fit | None:
    """With whom, and where, a visit fits at just that time; None if nobody is free then."""
    day = timezone.localdate(starts_at)
    found = _fits(
        wanted, day, day, near=starts_at, limit=1, step_minutes=DIARY_STEP, soonest=starts_at
    )
    return found[0] if found and found[0].starts_at == starts_at else None


def next_days(wanted: Wanted, *, days: int = 4, per_day: int = 6, chosen: str = "") -> list[FitDay]:
    """
    The next days on which something fits, each with a few of its times, spread over the day, and
    with the time that was chosen (`Fit.value`) if it still fits, with whomever.
    """
    found: list[FitDay] = []
    first, count = wanted.first, _FIRST_DAYS
    while first <= wanted.last and len(found) < days:
        last = min(first + timedelta(days=count - 1), wanted.last)
        by_day: dict[date, list[Fit]] = {}
        for fit in _fits(wanted, first, last, limit=_ENOUGH):
            by_day.setdefault(fit.day, []).append(fit)
        for day in sorted(by_day)[: days - len(found)]:
            fits = sorted(by_day[day], key=lambda fit: fit.starts_at)
            few = spread(fits, per_day)
            shown = [fit for fit in fits if fit in few or fit.is_at(chosen)]
            found.append(FitDay(day, shown, len(fits) - len(shown)))
        first, count = _next(last), _AT_A_TIME_DAYS
    return found


def spread(fits: Sequence[Fit], count: int) -> list[Fit]:
    """At most `count` of them, the first and the last included, evenly between."""
    if len(fits) <= count:
        return list(fits)
    last = len(fits) - 1
    return [fits[round(position * last / (count - 1))] for position in range(count)]


def _fits(
    wanted: Wanted,
    first: date,
    last: date,
    *,
    near: datetime | None = None,
    limit: int,
    step_minutes: int = STEP_MINUTES,
    soonest: datetime | None = None,
) -> list[Fit]:
    """
    A constant number of queries, whatever the number of days.

    Args:
        soonest: the first moment that is looked at; None for now.
    """
    first = max(first, timezone.localdate())
    people = [wanted.only] if wanted.only else list(practitioners())
    if last < first or not people:
        return []
    rooms = _suitable(wanted.kind)
    busy = _busy(people, rooms or (), wanted, first, last)
    hours = read_hours(people, first, last)
    soonest = max(moment_at(first, time.min), soonest or timezone.now())
    window = (
        -(-int(soonest.timestamp()) // CELL_SECONDS),
        cell_of(moment_at(_next(last), time.min)),
    )
    slots = free_slots(
        DiarySpans(hours.spans(person.pk for person in people), *busy),
        wanted.length,
        window=window,
        midnights=local_midnights(first, last, timezone.get_current_timezone()),
        rooms=None if rooms is None else [RoomAt(room.pk, room.site_id) for room in rooms],
        step_minutes=step_minutes,
        practitioner=wanted.first_choice.pk if wanted.first_choice else None,
        near=None if near is None else cell_of(near),
        limit=limit,
    )
    by_person = {person.pk: person for person in people}
    by_room: dict[int | None, Room] = {room.pk: room for room in rooms or ()}
    return [
        Fit(slot.starts_at, by_person[slot.practitioner], by_room.get(slot.room)) for slot in slots
    ]


def _suitable(kind: VisitKind) -> list[Room] | None:
    """The rooms in use that suit the kind; None where it needs none."""
    if kind._state.adding:
        return None
    rooms = list(kind.rooms.in_use().select_related("site"))
    return rooms or None


def _busy(
    people: Iterable[User], rooms: Iterable[Room], wanted: Wanted, first: date, last: date
) -> tuple[dict[int, list[Span]], dict[int, list[Span]], list[Span]]:
    """What is taken on these days: of practitioners, of rooms, of the patient."""
    by_person: dict[int, list[Span]] = {}
    by_room = {key: list(spans) for key, spans in rooms_away(rooms, first, last).items()}
    by_patient: list[Span] = []
    about = Q(practitioner__in=people) | Q(room__in=rooms)
    if wanted.patient is not None:
        about |= Q(patient=wanted.patient)
    taken = Appointment.objects.taking_place().filter(
        about,
        starts_at__gte=moment_at(first - timedelta(days=1), time.min),
        starts_at__lt=moment_at(_next(last), time.min) + timedelta(hours=2),
    )
    taken = taken.exclude(held_until__lte=timezone.now())
    if wanted.moving is not None:
        taken = taken.exclude(pk=wanted.moving.pk)
    own = wanted.patient.pk if wanted.patient is not None else None
    # As plain values: a busy clinic has thousands of them in a fortnight.
    for practitioner, room, patient, *when in taken.values_list(*_TAKEN):
        whole, visit = cells_at(*when)
        by_person.setdefault(practitioner, []).append((whole.start, whole.stop))
        if room is not None:
            by_room.setdefault(room, []).append((whole.start, whole.stop))
        if patient == own:
            by_patient.append((visit.start, visit.stop))
    return by_person, by_room, by_patient


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
    wanted = Wanted(kind, day, day, moving=appointment if appointment.pk else None)
    _, busy, _ = _busy([appointment.practitioner], rooms, wanted, day, day)
    for room in sorted(rooms, key=lambda room: room.pk != appointment.room_id):
        if sites and room.site_id not in sites:
            continue
        if all(end <= held.start or start >= held.stop for start, end in busy.get(room.pk, ())):
            return room
    return None


def _next(day: date) -> date:
    return day + timedelta(days=1)
