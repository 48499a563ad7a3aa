"""Telling the people of a case, and what came of it."""

from datetime import datetime
from typing import Any

from django.utils import timezone

from clinic.audit.services import acting
from records.adverse_events.models import AdverseEvent
from records.appointments.models import Appointment
from records.appointments.services.booking import reserve
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome
from records.recalls.errors import RecallError
from records.recalls.models import CaseContact, CaseEvent, CasePatient, RecallCase
from records.recalls.services.locking import lock_open, lock_real


def note_contact(
    *,
    person: CasePatient,
    channel: Channel,
    outcome: ContactOutcome,
    actor,
    note: str = "",
    at: datetime | None = None,
) -> CaseContact:
    """
    Write down one attempt to reach somebody, or their answer. It stays as it is.

    Args:
        at: when it was, if not now.

    Raises:
        OnlyADrill: nobody is contacted in a drill.
        RecallError: an outcome that the channel does not have, or a time before the notice came or
            still to come.
    """
    if not outcome.fits(channel):
        raise RecallError(f"“{outcome.label}” does not go with “{channel.label}”. Choose again.")
    with acting(actor) as trail:
        case = lock_real(person.case_id, refusal="nobody is contacted.")
        now = timezone.now()
        if at and not case.received_at <= at <= now:
            raise RecallError("Type a time between the coming of the notice and now.")
        contact = CaseContact.objects.create(
            person=person, channel=channel, outcome=outcome, note=note.strip(), at=at or now,
            by=actor,
        )  # fmt: skip
        # In words: the trail's page knows the choices of the case alone.
        after: dict[str, Any] = {
            "by": channel.label,
            "outcome": outcome.label,
            "note": contact.note,
        }
        if at:
            after["when"] = at
        trail.add("recall.attempt_noted", case, patient_id=person.patient_id, after=after)
    return contact


def note_unreachable(*, person: CasePatient, note: str, actor) -> CasePatient:
    """
    Write down why there is no way to reach somebody; an empty note takes it back.

    In a drill too: a complete list has one for everybody without telephone, e-mail and address.
    """
    with acting(actor) as trail:
        case = lock_open(person.case_id)
        stored = CasePatient.objects.select_for_update(of=("self",)).get(pk=person.pk)
        before, stored.unreachable_note = stored.unreachable_note, note.strip()
        stored.save(update_fields=["unreachable_note"])
        trail.add(
            "recall.no_way_noted", case, patient_id=stored.patient_id,
            before={"unreachable_note": before},
            after={"unreachable_note": stored.unreachable_note},
        )  # fmt: skip
    return stored


def book_for(*, person: CasePatient, appointment: Appointment, actor) -> Appointment:
    """
    Book the appointment at which somebody is seen because of the recall.

    Raises:
        OnlyADrill: nobody is called in for a drill.
        RecallError: there is one that is still to come.
        TimeTaken: as `records.appointments.services.book`.
    """
    with acting(actor) as trail:
        case = lock_real(person.case_id, refusal="nobody is called in.")
        stored = CasePatient.objects.select_for_update(of=("self",)).get(pk=person.pk)
        booked = stored.appointment
        if booked is not None and booked.is_to_come and booked.starts_at >= timezone.now():
            when = timezone.localtime(booked.starts_at)
            raise RecallError(
                f"An appointment is booked for {when:%-d %B %Y at %H:%M}. Cancel that one first."
            )
        appointment.patient_id = stored.patient_id
        reserve(appointment=appointment, trail=trail)
        stored.appointment = appointment
        stored.save(update_fields=["appointment"])
        trail.add(
            "recall.booked", case, patient_id=stored.patient_id,
            after={"appointment": appointment.pk},
        )  # fmt: skip
    return appointment


def attach_event(*, case: RecallCase, event: AdverseEvent, actor) -> CaseEvent:
    """
    Count an adverse event as found in the course of the case; twice changes nothing.

    Raises:
        RecallError: its patient is not on the call list.
    """
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        if not stored.people.filter(patient=event.patient_id).exists():
            raise RecallError("The patient of this adverse event is not on the call list.")
        found, is_new = CaseEvent.objects.get_or_create(
            case=stored, event=event, defaults={"added_at": timezone.now()}
        )
        if is_new:
            trail.add(
                "recall.event_found", stored, patient_id=event.patient_id, after={"event": event.pk}
            )
    return found
