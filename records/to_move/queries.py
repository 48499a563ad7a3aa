"""Visits that are booked when nobody works, or in a room that cannot be used."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol
from urllib.parse import urlencode

from django.db.models import Model, QuerySet
from django.urls import reverse
from django.utils import timezone

from clinic.bookings.registry import Booked, Books, TimeAway
from clinic.hours.models import Absence
from clinic.hours.queries import Hours, read_hours
from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from records.appointments.enums import AppointmentState
from records.appointments.models import LONGEST_MINUTES, Appointment

SHOWN = 12
"""How many of the visits in the way are shown one by one."""
TO_COME = [AppointmentState.OFFERED, AppointmentState.BOOKED]


@dataclass(frozen=True, slots=True)
class VisitToMove:
    """`reason` says what is in the way: "Leave", "Room 2 is no longer in use"."""

    visit: Appointment
    reason: str


class Timed(Protocol):
    """A visit as far as it matters here: an appointment, or what a page has read of one."""

    @property
    def pk(self) -> int: ...
    @property
    def practitioner_id(self) -> int: ...
    @property
    def room_id(self) -> int | None: ...
    @property
    def site_id(self) -> int | None: ...
    @property
    def starts_at(self) -> datetime: ...
    @property
    def ends_at(self) -> datetime: ...


def visits_to_move(now: datetime, whose: Model | None = None) -> list[VisitToMove]:
    """
    The visits to come (of a person, in a room, or all) that somebody has to move, in their order:
    one query and `in_the_way`.
    """
    visits = list(
        _of(whose)
        .filter(state__in=TO_COME, starts_at__gte=now)
        .select_related("patient", "practitioner", "room")
        .order_by("starts_at", "id")
    )
    reasons = in_the_way(visits)
    return [VisitToMove(visit, reasons[visit.pk]) for visit in visits if visit.pk in reasons]


def in_the_way(visits: Sequence[Timed]) -> dict[int, str]:
    """
    What is in the way of those of these visits to come that have to be moved, by their keys: at
    most nine queries, none without visits.

    Only the visit itself is looked at, not its preparation and buffer: those give way at the desk.
    """
    if not visits:
        return {}
    ways = _Ways(visits)
    reasons = ((visit.pk, ways.reason(visit)) for visit in visits)
    return {pk: reason for pk, reason in reasons if reason}


def _of(whose: Model | None) -> QuerySet[Appointment]:
    match whose:
        case User():
            return Appointment.objects.filter(practitioner=whose)
        case Room():
            return Appointment.objects.filter(room=whose)
    return Appointment.objects.all()


class _Ways:
    """Everything that can be in the way of these visits, read once."""

    def __init__(self, visits: Sequence[Timed]) -> None:
        first = timezone.localdate(min(visit.starts_at for visit in visits))
        last = timezone.localdate(max(visit.ends_at for visit in visits))
        self.people = User.objects.in_bulk({visit.practitioner_id for visit in visits})
        room_ids = {visit.room_id for visit in visits if visit.room_id}
        self.rooms = Room.objects.select_related("site").in_bulk(room_ids)
        self.hours: Hours = read_hours(self.people.values(), first, last)
        self.sites = {site.pk: site.name for site in Site.objects.all()}
        self.away: dict[int, list[Absence]] = {}
        for absence in Absence.objects.filter(room__in=room_ids):
            if absence.room_id:
                self.away.setdefault(absence.room_id, []).append(absence)

    def reason(self, visit: Timed) -> str:
        return next(filter(None, self._reasons(visit)), "")

    def _reasons(self, visit: Timed) -> Iterator[str]:
        person, room = self.people[visit.practitioner_id], self.rooms.get(visit.room_id or 0)
        if not person.is_active:
            yield f"{person} no longer works here"
        yield self.hours.why_not(person.pk, visit.starts_at, visit.ends_at)
        yield self._elsewhere(visit, room.site_id if room else visit.site_id)
        if room is None:
            return
        if not (room.is_active and room.site.is_active):
            yield f"{room.name} is no longer in use"
        for absence in self.away.get(room.pk, ()):
            if absence.starts_at < visit.ends_at and absence.ends_at > visit.starts_at:
                yield f"{room.name}: {absence.in_words}"

    def _elsewhere(self, visit: Timed, booked_at: int | None) -> str:
        """Whether the practitioner is at another site than the visit."""
        works_at = self.hours.site_at(visit.practitioner_id, visit.starts_at)
        if not booked_at or works_at is None or works_at == booked_at:
            return ""
        return f"At {self.sites[works_at]} then, not at {self.sites[booked_at]}"


def booked_during(time: TimeAway) -> list[Appointment]:
    """The visits that have not begun and lie in a span of time, in their order."""
    after = max(timezone.now(), time.starts_at - timedelta(minutes=LONGEST_MINUTES))
    visits = Appointment.objects.filter(
        state__in=TO_COME, starts_at__gte=after, starts_at__lt=time.ends_at
    )
    if time.person:
        visits = visits.filter(practitioner=time.person.pk)
    if time.room:
        visits = visits.filter(room=time.room.pk)
    visits = visits.select_related("patient", "practitioner", "room").order_by("starts_at", "id")
    return [visit for visit in visits if visit.ends_at > time.starts_at]


def booked_in(time: TimeAway) -> Booked:
    """For `clinic.bookings`: how many there are, and where they are listed."""
    count = len(booked_during(time))
    asked = {"starts_at": time.starts_at.isoformat(), "ends_at": time.ends_at.isoformat()}
    if time.person:
        asked["person"] = str(time.person.pk)
    if time.room:
        asked["room"] = str(time.room.pk)
    return Booked(count, f"{reverse('to-move-during')}?{urlencode(asked)}" if count else "")


def stranded(whose: Model | None) -> frozenset[int]:
    """The ids of the visits to move as things are now."""
    return frozenset(row.visit.pk for row in visits_to_move(timezone.now(), whose))


def listed(visit_ids: Collection[int]) -> Booked:
    """The first of these visits, where they are listed, and how many there are."""
    if not visit_ids:
        return Booked()
    visits = Appointment.objects.filter(pk__in=visit_ids).order_by("starts_at", "id")
    first = visits.values_list("pk", flat=True)[:SHOWN]
    asked = urlencode({"visit": list(first), "of": len(visit_ids)}, doseq=True)
    return Booked(len(visit_ids), f"{reverse('to-move-named')}?{asked}")


BOOKS = Books(during=booked_in, stranded=stranded, listed=listed)
