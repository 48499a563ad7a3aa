"""Appointments that are booked, and called off, together."""

import uuid
from collections.abc import Sequence
from copy import copy
from datetime import datetime, timedelta

from django.utils import timezone

from clinic.audit.services import acting
from records.appointments.enums import AppointmentState
from records.appointments.errors import NothingToBook, ReasonMissing, TimeTaken
from records.appointments.models import Appointment
from records.appointments.services.booking import lock_held, reserve
from records.appointments.services.states import set_state

MOST_IN_A_SERIES = 26


def repeated(first: Appointment, *, count: int, weeks: int) -> list[Appointment]:
    """
    The first appointment and the later ones, unsaved: `weeks` apart by the calendar, at the same
    time of the clock on both sides of a clock change.
    """
    local = timezone.localtime(first.starts_at)
    appointments = [first]
    for number in range(1, count):
        later = copy(first)
        day = local.date() + timedelta(weeks=weeks * number)
        later.starts_at = datetime.combine(
            day, local.time(), tzinfo=timezone.get_current_timezone()
        )
        appointments.append(later)
    return appointments


def walk_in(*, appointment: Appointment, actor) -> Appointment:
    """
    Book somebody who is here already.

    Raises:
        TimeTaken: as `booking.book`.
    """
    appointment.state = AppointmentState.ARRIVED
    with acting(actor) as trail:
        reserve(appointment=appointment, trail=trail)
        trail.add(
            "appointment.walked_in",
            appointment,
            patient_id=appointment.patient_id,
            after={"state": appointment.state},
        )
    return appointment


class SeriesTaken(TimeTaken):
    """Some of a series' times are taken; `taken` says why, by position from 0."""

    def __init__(self, taken: dict[int, str]) -> None:
        super().__init__("Some of these times are taken; nothing was booked.")
        self.taken = taken


def book_series(*, appointments: Sequence[Appointment], actor) -> list[Appointment]:
    """
    Book all of them or none.

    Raises:
        NothingToBook: none, or more than MOST_IN_A_SERIES.
        SeriesTaken: which of them are taken, and by what.
    """
    if not 1 <= len(appointments) <= MOST_IN_A_SERIES:
        raise NothingToBook(f"A series has 1 to {MOST_IN_A_SERIES} appointments.")
    series = uuid.uuid4() if len(appointments) > 1 else None
    taken: dict[int, str] = {}
    with acting(actor) as trail:
        lock_held(*appointments)
        for position, appointment in enumerate(appointments):
            appointment.series = series
            try:
                with trail.part():
                    reserve(appointment=appointment, trail=trail)
            except TimeTaken as refusal:
                taken[position] = f"{_when(appointment)}: {refusal}"
        if taken:
            raise SeriesTaken(taken)
    return list(appointments)


def cancel_following(*, appointment: Appointment, reason: str, actor) -> list[Appointment]:
    """
    Cancel an appointment and the later ones of its series that are still only booked.

    Raises:
        ReasonMissing: no reason.
        AppointmentClosed: the appointment itself is done or was cancelled.
    """
    if not reason.strip():
        raise ReasonMissing("Say why the appointments are cancelled.")
    with acting(actor):
        cancelled = [appointment]
        set_state(
            appointment=appointment, state=AppointmentState.CANCELLED, actor=actor, reason=reason
        )
        if appointment.series is not None:
            for later in following(appointment):
                set_state(
                    appointment=later, state=AppointmentState.CANCELLED, actor=actor, reason=reason
                )
                cancelled.append(later)
    return cancelled


def following(appointment: Appointment) -> list[Appointment]:
    """Those of its series that come after it and are still only booked."""
    if appointment.series is None:
        return []
    rows = Appointment.objects.filter(
        series=appointment.series,
        starts_at__gt=appointment.starts_at,
        state=AppointmentState.BOOKED,
    )
    return list(rows.order_by("starts_at"))


def _when(appointment: Appointment) -> str:
    return f"{timezone.localtime(appointment.starts_at):%-d %B %Y at %H:%M}"
