"""Who of the waiting list fits a time that came free: a constant number of queries."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Q
from django.utils import timezone

from clinic.hours.queries import NO_SITE, Hours, read_hours, rooms_away
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from clinic.rooms.models import Room
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import VisitKind
from clinic.visit_kinds.queries import visit_kinds
from planning.free_slots import DiarySpans, RoomAt, Slot, Span, VisitLength, cell_of
from planning.waiting import DayPart, Freed, Need, fits, held_until, in_order
from records.appointments.models import LONGEST_MINUTES, Appointment, cells_of
from records.waiting_list.models import FreedTime, Offer, WaitingEntry

MOST_TIMES = 20
"""So many of the times that came free are looked at, the soonest first."""


@dataclass(frozen=True, slots=True)
class Match:
    """
    Somebody whose visit fits into a freed time, and where exactly.

    Attributes:
        offer_until: until when an offer made now would hold it: no longer than the policy says, and
            than they need notice; None when it is too late for one.
    """

    freed: FreedTime
    entry: WaitingEntry
    slot: Slot
    kind: VisitKind
    offer_until: datetime | None

    @property
    def minutes(self) -> int:
        return self.entry.minutes or self.kind.minutes

    @property
    def starts_at(self) -> datetime:
        return self.slot.starts_at

    @property
    def ends_at(self) -> datetime:
        return self.starts_at + timedelta(minutes=self.minutes)

    @property
    def runs_on(self) -> bool:
        """The visit goes on into time that was free already."""
        return self.ends_at > self.freed.ends_at

    def appointment(self) -> Appointment:
        """The visit at that time, unsaved."""
        return Appointment(
            patient_id=self.entry.patient_id,
            practitioner_id=self.slot.practitioner,
            site_id=self.slot.site if self.slot.site != NO_SITE else None,
            room_id=self.slot.room,
            kind=self.entry.kind,
            starts_at=self.slot.starts_at,
            minutes=self.minutes,
            preparation_minutes=self.kind.preparation_minutes,
            buffer_minutes=self.kind.buffer_minutes,
        )


@dataclass(frozen=True, slots=True)
class OpenTime:
    """
    A freed time and who fits it, in order.

    Attributes:
        is_too_soon: it starts too soon to wait for an answer, whoever it is offered to.
    """

    freed: FreedTime
    matches: list[Match]
    is_too_soon: bool

    @property
    def next_offer(self) -> Match | None:
        """The first in order who has time to answer."""
        return next((one for one in self.matches if one.offer_until), None)


def open_times() -> list[OpenTime]:
    """The times that came free, lie ahead and fit somebody, the soonest first."""
    now = timezone.now()
    times = FreedTime.objects.filter(starts_at__gt=now, left_at__isnull=True)
    soonest = times.select_related("practitioner", "appointment")[:MOST_TIMES]
    return [one for one in match(list(soonest)) if one.matches]


def open_time(freed: FreedTime) -> OpenTime:
    return match([freed])[0]


def match(times: Sequence[FreedTime]) -> list[OpenTime]:
    """Each of the times with who fits it, less who did not take it before and who gave it up."""
    if not times:
        return []
    now, policy = timezone.now(), current_policy()
    asked = _Asked(times, now, policy)
    return [
        OpenTime(freed, asked.matches(freed), hold_until(freed.starts_at, policy, now) is None)
        for freed in times
    ]


def hold_until(
    starts_at: datetime, policy: ClinicPolicy, now: datetime, *, notice_hours: int = 0
) -> datetime | None:
    """
    Until when an offer of that start made `now` holds it for somebody who needs that notice; None
    when it is too late for one.
    """
    return held_until(
        now,
        starts_at,
        minutes=policy.offer_minutes,
        margin_minutes=max(policy.offer_margin_minutes, notice_hours * 60),
        quiet=policy.quiet,
        zone=timezone.get_current_timezone(),
    )


class _Asked:
    """What the diary and the waiting list hold about some freed times."""

    def __init__(self, times: Sequence[FreedTime], now: datetime, policy: ClinicPolicy) -> None:
        self.now, self.zone, self.policy = now, timezone.get_current_timezone(), policy
        first = min(one.starts_at for one in times)
        last = max(one.ends_at for one in times)
        days = timezone.localdate(first), timezone.localdate(last)
        entries = WaitingEntry.objects.standing().unoffered().with_people()
        self.entries = {one.pk: one for one in entries}
        self.kinds = visit_kinds()
        rooms = {room.pk: room for kind in self.kinds.values() for room in _rooms_of(kind) or ()}
        self._read_diary(first, last)
        for room, spans in rooms_away(rooms.values(), *days).items():
            self.by_room.setdefault(room, []).extend(spans)
        people = {one.practitioner_id: one.practitioner for one in times}
        self.hours: Hours = read_hours(people.values(), *days)
        self.needs = in_order(self._need(entry, days[0]) for entry in self.entries.values())
        not_taken = Offer.objects.not_taken().filter(freed__in=times)
        self.not_taken = set(not_taken.values_list("freed_id", "entry_id"))

    def _read_diary(self, first: datetime, last: datetime) -> None:
        self.by_person: dict[int, list[Span]] = {}
        self.by_room: dict[int, list[Span]] = {}
        self.by_patient: dict[int, list[Span]] = {}
        about = timedelta(minutes=2 * LONGEST_MINUTES)
        taken = Appointment.objects.taking_place().filter(
            starts_at__gt=first - about, starts_at__lt=last + about
        )
        for one in taken.exclude(Q(held_until__lte=self.now)):
            whole, visit = cells_of(one)
            self.by_person.setdefault(one.practitioner_id, []).append((whole.start, whole.stop))
            self.by_patient.setdefault(one.patient_id, []).append((visit.start, visit.stop))
            if one.room_id is not None:
                self.by_room.setdefault(one.room_id, []).append((whole.start, whole.stop))

    def _need(self, entry: WaitingEntry, first_day: date) -> Need:
        kind = self.kinds[AppointmentKind(entry.kind)]
        rooms = _rooms_of(kind)
        return Need(
            key=entry.pk,
            since=entry.added_at,
            is_urgent=entry.is_urgent,
            visit=VisitLength.of_minutes(
                entry.minutes or kind.minutes, kind.preparation_minutes, kind.buffer_minutes
            ),
            rooms=None if rooms is None else [RoomAt(room.pk, room.site_id) for room in rooms],
            practitioner=entry.practitioner_id,
            site=entry.site_id,
            first=entry.first_on,
            last=entry.last_on,
            weekdays=frozenset(entry.weekdays),
            part=DayPart(entry.part),
            notice=timedelta(hours=entry.notice_hours),
            busy=self.by_patient.get(entry.patient_id, ()),
        )

    def matches(self, freed: FreedTime) -> list[Match]:
        asked = Freed(
            freed.practitioner_id,
            (cell_of(freed.starts_at), cell_of(freed.ends_at)),
            DiarySpans(self.hours.spans([freed.practitioner_id]), self.by_person, self.by_room),
        )
        found = []
        for need in self.needs:
            entry = self.entries[need.key]
            gave_it_up = entry.patient_id == freed.appointment.patient_id
            if gave_it_up or (freed.pk, need.key) in self.not_taken:
                continue
            slot = fits(need, asked, now=self.now, zone=self.zone)
            if slot is not None:
                kind = self.kinds[AppointmentKind(entry.kind)]
                until = hold_until(
                    slot.starts_at, self.policy, self.now, notice_hours=entry.notice_hours
                )
                found.append(Match(freed, entry, slot, kind, until))
        return found


def _rooms_of(kind: VisitKind) -> list[Room] | None:
    """The rooms in use that suit the kind; None where it needs none."""
    if kind._state.adding:
        return None
    return [room for room in kind.rooms.all() if room.is_active] or None
