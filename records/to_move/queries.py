"""Visits that are booked when nobody works, or in a room that cannot be used."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from clinic.bookings.registry import Booked, TimeAway
from clinic.hours.models import Absence
from clinic.hours.queries import Hours, read_hours
from clinic.sites.models import Site
from records.appointments.enums import AppointmentState
from records.appointments.models import LONGEST_MINUTES, Appointment

TO_COME = [AppointmentState.OFFERED, AppointmentState.BOOKED]


@dataclass(frozen=True, slots=True)
class VisitToMove:
    """`reason` says what is in the way: "Leave", "Room 2 is no longer in use"."""

    visit: Appointment
    reason: str


def visits_to_move(now: datetime) -> list[VisitToMove]:
    """
    The visits to come that somebody has to move, in their order, in at most nine queries.

    Only the visit itself is looked at, not its preparation and buffer: those give way at the desk.
    """
    visits = list(
        Appointment.objects.filter(state__in=TO_COME, starts_at__gte=now)
        .select_related("patient", "practitioner", "room__site", "site")
        .order_by("starts_at", "id")
    )
    if not visits:
        return []
    first, last = timezone.localdate(now), timezone.localdate(max(one.ends_at for one in visits))
    ways = _Ways(visits, first, last)
    reasons = ((visit, ways.reason(visit)) for visit in visits)
    return [VisitToMove(visit, reason) for visit, reason in reasons if reason]


class _Ways:
    """Everything that can be in the way of these visits, read once."""

    def __init__(self, visits: Iterable[Appointment], first: date, last: date) -> None:
        people = {visit.practitioner for visit in visits}
        rooms = {visit.room_id for visit in visits if visit.room_id}
        self.hours: Hours = read_hours(people, first, last)
        self.sites = {site.pk: site.name for site in Site.objects.all()}
        self.away: dict[int, list[Absence]] = {}
        for absence in Absence.objects.filter(room__in=rooms):
            if absence.room_id:
                self.away.setdefault(absence.room_id, []).append(absence)

    def reason(self, visit: Appointment) -> str:
        return next(filter(None, self._reasons(visit)), "")

    def _reasons(self, visit: Appointment) -> Iterator[str]:
        if not visit.practitioner.is_active:
            yield f"{visit.practitioner} no longer works here"
        yield self.hours.why_not(visit.practitioner_id, visit.starts_at, visit.ends_at)
        yield self._elsewhere(visit)
        if visit.room is None:
            return
        if not (visit.room.is_active and visit.room.site.is_active):
            yield f"{visit.room.name} is no longer in use"
        for absence in self.away.get(visit.room.pk, ()):
            if absence.starts_at < visit.ends_at and absence.ends_at > visit.starts_at:
                yield f"{visit.room.name}: {absence.in_words}"

    def _elsewhere(self, visit: Appointment) -> str:
        """Whether the practitioner is at another site than the visit."""
        booked_at = visit.room.site_id if visit.room else visit.site_id
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
        visits = visits.filter(practitioner=time.person)
    if time.room:
        visits = visits.filter(room=time.room)
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
