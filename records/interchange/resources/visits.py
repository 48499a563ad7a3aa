"""Booked times and visits: Appointment, Encounter."""

from collections.abc import Iterator

from clinic.visit_kinds.enums import AppointmentKind
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.interchange.parts import HL7, Json, coding, moment, own_concept, uuid_identifier
from records.interchange.queries import PatientRecord
from records.interchange.references import References
from records.sessions.models import TreatmentSession

# R4B value set appointmentstatus.
APPOINTMENT_STATES = {
    AppointmentState.OFFERED: "proposed",
    AppointmentState.BOOKED: "booked",
    AppointmentState.ARRIVED: "arrived",
    AppointmentState.IN_ROOM: "checked-in",
    AppointmentState.DONE: "fulfilled",
    AppointmentState.CANCELLED: "cancelled",
    AppointmentState.DID_NOT_ATTEND: "noshow",
}
# R4B value set encounter-status, of visits that began.
VISIT_STATES = {
    AppointmentState.ARRIVED: "arrived",
    AppointmentState.IN_ROOM: "in-progress",
    AppointmentState.DONE: "finished",
}
# R4B value set participationstatus, by whether the time is only offered.
_AGREED = {False: "accepted", True: "needs-action"}


def appointments(record: PatientRecord, refs: References) -> Iterator[Json]:
    for appointment in record.appointments:
        yield _appointment(appointment, refs)


def _appointment(appointment: Appointment, refs: References) -> Json:
    state = AppointmentState(appointment.state)
    return {
        "resourceType": "Appointment",
        "id": refs.id_of("Appointment", appointment.pk),
        "status": APPOINTMENT_STATES[state],
        "cancelationReason": {"text": appointment.cancel_reason},
        "appointmentType": own_concept("visit-kind", AppointmentKind(appointment.kind)),
        "start": moment(appointment.starts_at),
        "end": moment(appointment.ends_at),
        "minutesDuration": appointment.minutes,
        "comment": appointment.note,
        "participant": [
            {"actor": refs.patient, "status": _AGREED[appointment.is_offer]},
            {"actor": refs.person(appointment.practitioner_id), "status": "accepted"},
            *({"actor": place, "status": "accepted"} for place in _places(appointment, refs)),
        ],
    }


def _places(appointment: Appointment | None, refs: References) -> list[Json]:
    if appointment is None:
        return []
    if appointment.room_id:
        return [refs.room(appointment.room_id)]
    return [refs.site(appointment.site_id)] if appointment.site_id else []


def visits(record: PatientRecord, refs: References) -> Iterator[Json]:
    """Each sitting, and each visit to which somebody came without one."""
    booked: dict[int | None, Appointment] = {row.pk: row for row in record.appointments}
    for session in record.sessions:
        yield _sitting(session, booked.get(session.appointment_id), refs)
    treated = {session.appointment_id for session in record.sessions}
    for appointment in record.appointments:
        if appointment.pk not in treated and appointment.state in VISIT_STATES:
            yield _visit(appointment, refs)


def _session_status(session: TreatmentSession) -> str:
    """By R4B value set encounter-status; one set aside was started by mistake."""
    if session.is_set_aside:
        return "entered-in-error"
    return "finished" if session.is_signed else "in-progress"


def _sitting(session: TreatmentSession, appointment: Appointment | None, refs: References) -> Json:
    """When it ended nobody wrote down: the period has a start alone."""
    kind = AppointmentKind(appointment.kind) if appointment else AppointmentKind.TREATMENT
    return {
        "resourceType": "Encounter",
        "id": refs.id_of("Encounter/session", session.pk),
        "identifier": [uuid_identifier(session.key)],
        "status": _session_status(session),
        "class": coding(f"{HL7}/v3-ActCode", "AMB", "ambulatory"),
        "type": [own_concept("visit-kind", kind)],
        "subject": refs.patient,
        "participant": [{"individual": refs.person(session.injector_id)}],
        "appointment": [refs.to("Appointment", appointment.pk)] if appointment else [],
        "period": {"start": moment(session.started_at)},
        "location": [{"location": place} for place in _places(appointment, refs)],
        "serviceProvider": refs.clinic,
    }


def _visit(appointment: Appointment, refs: References) -> Json:
    """No period: when it took place is told by its appointment, and nobody clocked it."""
    is_call = appointment.kind == AppointmentKind.CALL
    code = ("VR", "virtual") if is_call else ("AMB", "ambulatory")
    return {
        "resourceType": "Encounter",
        "id": refs.id_of("Encounter/visit", appointment.pk),
        "status": VISIT_STATES[AppointmentState(appointment.state)],
        "class": coding(f"{HL7}/v3-ActCode", *code),
        "type": [own_concept("visit-kind", AppointmentKind(appointment.kind))],
        "subject": refs.patient,
        "participant": [{"individual": refs.person(appointment.practitioner_id)}],
        "appointment": [refs.to("Appointment", appointment.pk)],
        "location": [{"location": place} for place in _places(appointment, refs)],
        "serviceProvider": refs.clinic,
    }
