"""Starting a session, and the lock that every later act takes first."""

import uuid
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.utils import timezone

from clinic.audit.services import Trail, acting, changes, snapshot
from planning.atlas.fit import MeasureError, fitted
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.appointments.services.states import locked
from records.gates.services import Decision, note_start
from records.patients.models import Patient
from records.plans.services.plans import release_stage, take_up_stage
from records.sessions.errors import (
    AppointmentRefused,
    SessionError,
    SessionNotEmpty,
    SessionSetAside,
    SessionSigned,
    UnsignedElsewhere,
)
from records.sessions.models import MEASURES_DMM, TreatmentSession
from records.sessions.queries.content import content_of
from records.sessions.queries.gates import gates_of

MEASURES = list(MEASURES_DMM)
SESSION_FIELDS = ["injector", "appointment", "started_at", "late_reason", "jaw", "note"]
SET_ASIDE_FIELDS = ["set_aside_at", "appointment"]


def start_session(
    *,
    patient: Patient,
    injector,
    appointment: Appointment | None = None,
    started_at: datetime | None = None,
    late_reason: str = "",
    jaw: str,
    key: uuid.UUID | None = None,
    head: uuid.UUID | None = None,
    actor=None,
    decisions: Iterable[Decision] = (),
) -> TreatmentSession:
    """
    Open a session for `patient`, or return the one that is not signed yet. It takes up the next
    stage of the patient's plan, and the visit of today that it belongs to is in the room. What
    stood in the way is not asked about here, for it may have happened: it is kept with the session.

    Args:
        key: made where it was started; None makes one.
        head: the operation that starts it.
        actor: who writes it down, if not the injector.
        started_at: when the treatment took place; None for now. An earlier day needs `late_reason`.
        decisions: what was decided about stops before it was started.

    Raises:
        SessionError: another injector's session is unsigned, an earlier day without a reason, a
            time that is still to come, or an appointment that is not this patient's or has its
            session already.
    """
    now = timezone.now()
    started_at = started_at or now
    is_late = timezone.localdate(started_at) < timezone.localdate(now)
    if started_at > now:
        raise SessionError("The treatment cannot lie in the future.")
    if is_late and not late_reason.strip():
        raise SessionError("Say why a treatment of an earlier day is written down only now.")
    with acting(actor or injector) as trail:
        Patient.objects.select_for_update().get(pk=patient.pk)
        unsigned = patient.sessions.unsigned().select_related("injector").first()
        if unsigned:
            if unsigned.injector_id != injector.pk:
                raise UnsignedElsewhere(
                    f"{unsigned.injector} has not signed the last session of this patient yet."
                )
            return unsigned
        _check_appointment(appointment, patient)
        session = TreatmentSession.objects.create(
            patient=patient,
            injector=injector,
            appointment=appointment,
            started_at=started_at,
            late_reason=late_reason.strip(),
            jaw=jaw,
            key=key or uuid.uuid4(),
            head=head,
        )
        if appointment is not None and not is_late:
            _bring_in(appointment, trail)
        after = snapshot(session, SESSION_FIELDS)
        trail.add("session.started", session, patient_id=patient.pk, after=after)
        stood = [gate for gate in gates_of(patient, started_at) if gate.is_stop]
        note_start(
            session=session, stops=stood, decisions=decisions, by=injector, at=now, trail=trail
        )
        take_up_stage(
            patient_id=patient.pk, session_id=session.pk, started_at=started_at, trail=trail
        )
    return session


def _check_appointment(appointment: Appointment | None, patient: Patient) -> None:
    if appointment is None:
        return
    if appointment.patient_id != patient.pk:
        raise AppointmentRefused("That appointment is another patient's.")
    if TreatmentSession.objects.filter(appointment=appointment).exists():
        raise AppointmentRefused("That appointment has its session already.")


def _bring_in(appointment: Appointment, trail: Trail) -> None:
    """Whoever is treated on the day of the visit is in the room."""
    stored = locked(appointment)
    before = AppointmentState(stored.state)
    if before not in (AppointmentState.BOOKED, AppointmentState.ARRIVED) or not stored.is_today:
        return
    stored.state = AppointmentState.IN_ROOM
    stored.save(update_fields=["state"])
    trail.add(
        "appointment.in_room",
        stored,
        patient_id=stored.patient_id,
        before={"state": before},
        after={"state": stored.state},
        reason="The session of this visit was started.",
    )


def change_session(
    *, session: TreatmentSession, actor, head: uuid.UUID | None = None, **fields: Any
) -> TreatmentSession:
    """
    Change the drawing's jaw, the free note or the patient's own measures of an unsigned session.

    Args:
        fields: any of jaw, note and MEASURES (tenths of a millimetre, None for not measured).

    Raises:
        SessionError: another jaw while points are on the drawing, which would lie elsewhere on it;
            a measure that no face has.
    """
    try:
        fitted(**{name: fields.get(name) for name in MEASURES})
    except MeasureError as error:
        raise SessionError(str(error)) from error
    with acting(actor) as trail:
        stored = lock_unsigned(session.pk)
        outline_moves = fields.get("jaw", stored.jaw) != stored.jaw
        if outline_moves and stored.points.standing().exists():
            raise SessionError("The outline stays as it is while points are on it.")
        before = snapshot(stored, list(fields))
        for name, value in (fields | {"head": head}).items():
            setattr(stored, name, value)
        stored.save(update_fields=[*fields, "head"])
        before, after = changes(before, snapshot(stored, list(fields)))
        trail.add(
            "session.changed", stored, patient_id=stored.patient_id, before=before, after=after
        )
    return stored


def set_aside_session(
    *, session: TreatmentSession, actor, head: uuid.UUID | None = None
) -> TreatmentSession:
    """
    Take an empty session that was started by mistake out of the record, for good; its appointment
    is free for the right one. Twice changes nothing.

    Raises:
        SessionNotEmpty: something was written in it.
        SessionSigned: it is signed.
    """
    with acting(actor) as trail:
        stored = lock_session(session.pk)
        if stored.is_set_aside:
            return stored
        refuse_signed(stored)
        if held := content_of(stored):
            raise SessionNotEmpty(
                f"The session holds {', '.join(held)}. Only an empty one can be set aside."
            )
        before = snapshot(stored, SET_ASIDE_FIELDS)
        stored.set_aside_at, stored.appointment, stored.head = timezone.now(), None, head
        stored.save(update_fields=[*SET_ASIDE_FIELDS, "head"])
        before, after = changes(before, snapshot(stored, SET_ASIDE_FIELDS))
        trail.add(
            "session.set_aside", stored, patient_id=stored.patient_id, before=before, after=after
        )
        release_stage(session_id=stored.pk, patient_id=stored.patient_id, trail=trail)
    return stored


def set_head(session: TreatmentSession, head: uuid.UUID) -> None:
    """Note the last operation on the session itself; the caller holds its lock."""
    TreatmentSession.objects.filter(pk=session.pk).update(head=head)


def lock_session(pk: int) -> TreatmentSession:
    """The session with its patient, its row locked until the transaction ends."""
    return (
        TreatmentSession.objects.select_for_update(of=("self",))
        .select_related("patient")
        .get(pk=pk)
    )


def refuse_signed(session: TreatmentSession) -> TreatmentSession:
    """
    The session itself, if it may still change.

    Raises:
        SessionSigned: it is signed, so nothing in it changes any more.
        SessionSetAside: it was started by mistake, and stays empty.
    """
    if session.is_set_aside:
        raise SessionSetAside(
            "This session was set aside as started by mistake. Start a new one for this patient."
        )
    if session.is_signed:
        raise SessionSigned("This session is signed. Add an addendum instead.")
    return session


def lock_unsigned(pk: int) -> TreatmentSession:
    """As `lock_session`, for a session that may still change. Raises as `refuse_signed`."""
    return refuse_signed(lock_session(pk))
