"""Writing a message into the table of those that are due."""

import uuid
from datetime import datetime

from django.utils import timezone

from records.appointments.models import Appointment
from records.patients.models import Patient
from records.reminders.enums import MessageKind, MessageState
from records.reminders.models import Message
from records.reminders.tokens import digest_of, token_of
from records.reviews.models import Review


def new_message(
    *,
    key: str,
    kind: MessageKind,
    patient_id: int,
    due_at: datetime,
    until: datetime,
    state: MessageState = MessageState.WAITING,
    appointment: Appointment | None = None,
    review: Review | None = None,
    reference: str = "",
    actor=None,
) -> Message:
    """
    A message that is not stored yet.

    Args:
        reference: of the link that it brings, where that exists already.
    """
    reference = reference or uuid.uuid4().hex
    return Message(
        key=key, reference=reference, kind=kind, patient_id=patient_id, appointment=appointment,
        review=review, starts_at=appointment.starts_at if appointment else None,
        written_at=timezone.now(), written_by=actor, due_at=due_at, next_try_at=due_at,
        until=until, state=state,
        token_digest=digest_of(token_of(reference)),
    )  # fmt: skip


def write_about(
    *, appointment: Appointment, kind: MessageKind, due_at: datetime, after: int = 0
) -> None:
    """
    Write a message about an appointment's time, unless it is written already; two workers at once
    write one. An offer holds as long as the time is kept.

    Args:
        after: id of the message that told the patient of the time before, so that a visit moved to
            and fro is told of each time.
    """
    message = new_message(
        key=key_of(appointment, kind, after=after), kind=kind, patient_id=appointment.patient_id,
        due_at=due_at, until=appointment.held_until or appointment.starts_at,
        appointment=appointment,
    )  # fmt: skip
    Message.objects.bulk_create([message], ignore_conflicts=True)


def key_of(appointment: Appointment, kind: MessageKind, *, after: int = 0) -> str:
    """The same for the same news: (appointment, kind, time), and what it follows on."""
    return f"{kind.value}:{appointment.pk}:{appointment.starts_at:%Y%m%dT%H%MZ}:{after}"


def write_to(*, patient: Patient, review: Review, key: str, until: datetime, actor) -> bool:
    """Write an invitation to a review; whether it was not written already."""
    now = timezone.now()
    message = new_message(
        key=key, kind=MessageKind.REVIEW, patient_id=patient.pk, review=review, due_at=now,
        until=until, actor=actor,
    )  # fmt: skip
    if Message.objects.filter(key=key).exists():
        return False
    message.save(force_insert=True)
    return True
