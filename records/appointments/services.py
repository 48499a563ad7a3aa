"""Booking and moving appointments."""

from datetime import timedelta

from clinic.audit.services import acting, snapshot
from clinic.staff.models import User
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, TimeTaken
from records.appointments.models import Appointment

APPOINTMENT_FIELDS = ["patient", "practitioner", "kind", "starts_at", "minutes", "note"]


def book(*, appointment: Appointment, actor) -> Appointment:
    """
    Book an appointment.

    The practitioner's row is locked, so that two bookings of one person are decided one after the
    other on both databases.

    Raises:
        TimeTaken: the practitioner or the patient has another appointment in that time.
    """
    with acting(actor) as trail:
        _reserve(appointment)
        appointment.save()
        trail.add(
            "appointment.booked",
            appointment,
            patient_id=appointment.patient_id,
            after=snapshot(appointment, APPOINTMENT_FIELDS),
        )
    return appointment


def _reserve(appointment: Appointment) -> None:
    User.objects.select_for_update().get(pk=appointment.practitioner_id)
    longest = timedelta(hours=8)
    near = Appointment.objects.taking_place().filter(
        starts_at__lt=appointment.ends_at, starts_at__gt=appointment.starts_at - longest
    )
    for other in near.exclude(pk=appointment.pk).select_related("practitioner"):
        if other.ends_at <= appointment.starts_at:
            continue
        if other.practitioner_id == appointment.practitioner_id:
            raise TimeTaken(f"{other.practitioner} has another appointment at that time.")
        if other.patient_id == appointment.patient_id:
            raise TimeTaken("The patient has another appointment at that time.")


def set_state(
    *, appointment: Appointment, state: AppointmentState, actor, reason: str = ""
) -> Appointment:
    """Mark an appointment as arrived, done, cancelled or not attended."""
    with acting(actor) as trail:
        stored = Appointment.objects.select_for_update().get(pk=appointment.pk)
        if stored.state in (AppointmentState.CANCELLED, AppointmentState.DONE):
            raise AppointmentClosed(f"This appointment is {stored.get_state_display().lower()}.")
        before = {"state": stored.state}
        stored.state = state
        stored.save(update_fields=["state"])
        trail.add(
            f"appointment.{state}",
            stored,
            patient_id=stored.patient_id,
            before=before,
            after={"state": state},
            reason=reason,
        )
    appointment.state = state
    return stored
