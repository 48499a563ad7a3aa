"""What was done to an appointment, as the message to the person who did it says it."""

from django.utils import timezone

from planning.review_dates import day_in_words
from records.appointments.models import Appointment
from records.patients.models import Patient


def who(patient: Patient) -> str:
    """Name and number: the pages on which it is said show both."""
    return f"{patient.full_name} ({patient.record_number})"


def when(appointment: Appointment) -> str:
    """ "Tuesday 1 June 2027 at 11:00"."""
    start = timezone.localtime(appointment.starts_at)
    return f"{day_in_words(start.date())} at {start:%H:%M}"


def moved_in_words(before: Appointment, now: Appointment) -> str:
    """To when it was moved, and by name every other thing that is not as it was."""
    if _place(before) == _place(now):
        return f"Nothing is changed: {who(now.patient)} stays on {when(now)}."
    said = f"{who(now.patient)} is moved to {when(now)} with {now.practitioner}"
    if now.practitioner_id != before.practitioner_id:
        said += f" instead of {before.practitioner}"
    here, there = now.visit_site, before.visit_site
    if here != there:
        said += f", at {here}" if here else ", at no site"
        said += f" instead of {there}" if there else ""
    if now.room_id != before.room_id:
        said += f", in {now.room}" if now.room else ", without a room"
    return f"{said}."


def _place(one: Appointment) -> tuple:
    return one.starts_at, one.minutes, one.practitioner_id, one.room_id
