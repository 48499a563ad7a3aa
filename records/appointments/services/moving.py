"""Moving an appointment to another time, practitioner or room."""

from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.rooms.models import Room
from clinic.staff.models import User
from records.appointments import hooks
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, AppointmentMoved
from records.appointments.models import Appointment
from records.appointments.services.booking import hold_time, lock_held, site_of
from records.appointments.services.states import locked

MOVED_FIELDS = ["starts_at", "minutes", "practitioner", "room", "site", "late_minutes", "state"]


@dataclass(frozen=True, slots=True)
class Whereto:
    """The time and place an appointment is moved to."""

    starts_at: datetime
    minutes: int
    practitioner: User
    room: Room | None


def move(
    *,
    appointment: Appointment,
    to: Whereto,
    actor,
    seen_at: datetime | None = None,
    reason: str = "",
) -> Appointment:
    """
    Move an appointment; to where it is already changes nothing.

    Args:
        seen_at: the start that the person saw; None does not ask.

    Raises:
        AppointmentClosed: it is done, was cancelled or not attended, or is an offer.
        AppointmentMoved: it no longer starts when the person saw it.
        TimeTaken: as `booking.book`.
    """
    with acting(actor) as trail:
        lock_held(appointment, _at(appointment, to))
        stored = locked(appointment)
        state = AppointmentState(stored.state)
        if not state.is_to_come:
            raise AppointmentClosed(f"This appointment is {state.label.lower()}; it stays.")
        if seen_at is not None and stored.starts_at != seen_at:
            when = f"{timezone.localtime(stored.starts_at):%-d %B %Y at %H:%M}"
            raise AppointmentMoved(f"It was moved to {when} while this page was open.")
        before, left = snapshot(stored, MOVED_FIELDS), hooks.LetGo.by(stored)
        _at(stored, to, itself=True)
        if stored.starts_at != before["starts_at"]:
            _begin_anew(stored)
        before, after = changes(before, snapshot(stored, MOVED_FIELDS))
        if not after:
            return stored
        hold_time(stored, trail, update_fields=MOVED_FIELDS)
        trail.add(
            "appointment.moved",
            stored,
            patient_id=stored.patient_id,
            before=before,
            after=after,
            reason=reason.strip(),
        )
        if {"starts_at", "minutes", "practitioner"} & after.keys():
            hooks.let_go(left, trail)
    return stored


def _begin_anew(appointment: Appointment) -> None:
    """What was said of the old time does not hold for the new one."""
    appointment.late_minutes = 0
    if timezone.localdate(appointment.starts_at) > timezone.localdate():
        appointment.state = AppointmentState.BOOKED


def _at(appointment: Appointment, to: Whereto, *, itself: bool = False) -> Appointment:
    """The appointment as it would be there, unsaved: a copy, or the very object."""
    moved = appointment if itself else Appointment(patient_id=appointment.patient_id)
    moved.starts_at, moved.minutes = to.starts_at, to.minutes
    moved.practitioner, moved.room = to.practitioner, to.room
    if itself:
        moved.site_id = site_of(moved)
    return moved
