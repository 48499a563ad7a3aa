"""Telling the patient's calendar about an appointment."""

from typing import NamedTuple

from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from planning.calendar_files import Method
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.calendars.errors import CannotInvite
from records.calendars.exports import appointment_bytes, invitation_bytes
from records.calendars.models import CalendarEntry
from records.calendars.queries import place_of

FILE_NAME = "appointment.ics"
TOLD_FIELDS = ["starts_at", "minutes", "place", "is_cancelled"]


class Attachment(NamedTuple):
    """A file of an e-mail, as `EmailMessage.attach` takes it."""

    name: str
    content: bytes
    mimetype: str


def attachment_for(appointment: Appointment, *, actor=None) -> Attachment | None:
    """
    The calendar file of an e-mail about this appointment, as it stands now.

    None where there is nothing to tell: no e-mail address on either side, a time that is only
    offered, or a cancelled one that no calendar ever heard of.
    """
    method = _method_for(appointment)
    if method is None:
        return None
    try:
        content = invitation(appointment, method=method, actor=actor)
    except CannotInvite:
        return None
    # The e-mail adds the charset itself; no parameter may be there twice (RFC 2045, 5.1).
    return Attachment(FILE_NAME, content, f"text/calendar; method={method}")


def _method_for(appointment: Appointment) -> Method | None:
    state = AppointmentState(appointment.state)
    if state is AppointmentState.CANCELLED:
        was_told = CalendarEntry.objects.filter(appointment=appointment).exists()
        return Method.CANCEL if was_told else None
    if state in (AppointmentState.OFFERED, AppointmentState.DID_NOT_ATTEND):
        return None
    return Method.REQUEST


def invitation(appointment: Appointment, *, method: Method, actor=None) -> bytes:
    """
    The file that puts the appointment into the patient's calendar, changes it, or takes it out.

    Asked again without a change it is the same to the byte, so an e-mail may be tried again.

    Raises:
        CannotInvite: no address, or the appointment's state is another than the method tells.
    """
    policy = current_policy()
    entry = told(appointment, policy=policy, actor=actor)
    if entry.is_cancelled != (method is Method.CANCEL):
        raise CannotInvite(f"A {entry.appointment.state} appointment is not told by {method}.")
    if not policy.email:
        raise CannotInvite("The clinic has no e-mail address: add it to the policy.")
    if not entry.appointment.patient.email:
        raise CannotInvite("The patient has no e-mail address.")
    return invitation_bytes(entry, policy, method)


def appointment_file(appointment: Appointment, *, actor) -> bytes:
    """The appointment as a file for the patient, noted as a read of the record."""
    policy = current_policy()
    with acting(actor) as trail:
        entry = told(appointment, policy=policy, actor=actor)
        patient_id = entry.appointment.patient_id
        trail.add("appointment.exported", entry.appointment, patient_id=patient_id)
    return appointment_bytes(entry, policy)


def told(appointment: Appointment, *, policy: ClinicPolicy, actor) -> CalendarEntry:
    """
    The entry as calendars are to know it now; its sequence rises if they knew another.

    The appointment's row is locked first, so that two who tell at once tell one after the other.
    """
    with acting(actor) as trail:
        Appointment.objects.select_for_update(no_key=True).get(pk=appointment.pk)
        stored = Appointment.objects.select_related(
            "patient", "practitioner", "site", "room__site"
        ).get(pk=appointment.pk)
        return _brought_up_to_date(stored, policy, trail)


def _brought_up_to_date(
    appointment: Appointment, policy: ClinicPolicy, trail: Trail
) -> CalendarEntry:
    values = {
        "starts_at": appointment.starts_at,
        "minutes": appointment.minutes,
        "place": place_of(appointment, policy),
        "is_cancelled": appointment.state == AppointmentState.CANCELLED,
    }
    entry = CalendarEntry.objects.filter(appointment=appointment).first()
    before = snapshot(entry, TOLD_FIELDS) if entry else None
    if entry is None:
        entry = CalendarEntry(appointment=appointment, **values)
    elif before != values:
        entry.sequence += 1
        for name, value in values.items():
            setattr(entry, name, value)
    entry.appointment = appointment
    if before != values:
        entry.said_at = timezone.now().replace(microsecond=0)
        entry.save()
        trail.add(
            "appointment.told_calendar", appointment, patient_id=appointment.patient_id,
            before=before, after=values | {"sequence": entry.sequence},
        )  # fmt: skip
    return entry
