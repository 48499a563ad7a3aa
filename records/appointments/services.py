"""Booking appointments and marking what became of them."""

from datetime import timedelta

from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from clinic.staff.models import User
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, ReasonMissing, TimeTaken
from records.appointments.models import LONGEST_MINUTES, Appointment
from records.patients.models import Patient

APPOINTMENT_FIELDS = ["patient", "practitioner", "kind", "starts_at", "minutes", "note"]


def book(*, appointment: Appointment, actor) -> Appointment:
    """
    Book an appointment.

    Raises:
        TimeTaken: the practitioner or the patient has another appointment in that time.
    """
    with acting(actor) as trail:
        reserve(appointment=appointment, trail=trail)
    return appointment


def reserve(*, appointment: Appointment, trail: Trail) -> None:
    """Book an appointment as a part of the caller's act. Raises as `book`."""
    _hold_time(appointment)
    appointment.save()
    trail.add(
        "appointment.booked",
        appointment,
        patient_id=appointment.patient_id,
        after=snapshot(appointment, APPOINTMENT_FIELDS),
    )


def _hold_time(appointment: Appointment) -> None:
    """
    Refuse a time that is taken.

    The rows of practitioner and patient are locked, in this order, so that two bookings of one
    person are decided one after the other on both databases. `no_key`, because every row that
    names a member of staff or a patient needs a share of theirs while it is written.
    """
    User.objects.select_for_update(no_key=True).get(pk=appointment.practitioner_id)
    Patient.objects.select_for_update(no_key=True).get(pk=appointment.patient_id)
    near = Appointment.objects.taking_place().filter(
        starts_at__lt=appointment.ends_at,
        starts_at__gt=appointment.starts_at - timedelta(minutes=LONGEST_MINUTES),
    )
    for other in near.exclude(pk=appointment.pk).select_related("practitioner"):
        if other.ends_at <= appointment.starts_at:
            continue
        if other.practitioner_id == appointment.practitioner_id:
            raise TimeTaken(f"{other.practitioner} has another appointment {_span(other)}.")
        if other.patient_id == appointment.patient_id:
            raise TimeTaken(
                f"The patient has another appointment {_span(other)}, with {other.practitioner}."
            )


def _span(appointment: Appointment) -> str:
    """ "from 10:15 to 10:45" by the clinic's clock."""
    starts, ends = map(timezone.localtime, (appointment.starts_at, appointment.ends_at))
    return f"from {starts:%H:%M} to {ends:%H:%M}"


def set_state(
    *, appointment: Appointment, state: AppointmentState, actor, reason: str = ""
) -> Appointment:
    """
    Mark an appointment as arrived, done, cancelled or not attended; pressing twice changes nothing.

    Raises:
        ReasonMissing: cancelled without a reason.
        AppointmentClosed: it was cancelled or is done.
        TimeTaken: somebody who did not attend comes after all, and the time was given away.
    """
    reason = reason.strip()
    if state == AppointmentState.CANCELLED and not reason:
        raise ReasonMissing("Say why the appointment is cancelled.")
    with acting(actor) as trail:
        stored = Appointment.objects.select_for_update(no_key=True).get(pk=appointment.pk)
        before = AppointmentState(stored.state)
        if before.is_final:
            raise AppointmentClosed(f"This appointment is {before.label.lower()} already.")
        if before == state:
            return stored
        if not before.takes_place and AppointmentState(state).takes_place:
            _hold_time(stored)
        stored.state = state
        if state == AppointmentState.CANCELLED:
            stored.cancel_reason = reason
        stored.save(update_fields=["state", "cancel_reason"])
        trail.add(
            f"appointment.{AppointmentState(state).value}",
            stored,
            patient_id=stored.patient_id,
            before={"state": before},
            after={"state": state},
            reason=reason,
        )
    appointment.state, appointment.cancel_reason = stored.state, stored.cancel_reason
    return stored
