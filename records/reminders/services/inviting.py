"""Asking a patient to book a review, or to answer questions before a visit."""

from datetime import datetime, timedelta

from django.utils import timezone

from clinic.audit.services import acting
from clinic.background.queue import tick_now
from records.patients.models import Patient
from records.reminders.enums import MessageKind
from records.reminders.errors import CannotBeReached, ReminderError
from records.reminders.models import Message, has_a_visit_to_come
from records.reminders.queries import Reach, reach, reminder_policy
from records.reminders.services.reconciling import withdraw
from records.reminders.services.writing import new_message, write_to
from records.reviews.models import Review

TRIED_FOR = timedelta(days=3)


def invite_to_review(*, review: Review, actor) -> Reach:
    """
    Write the patient an invitation to book this review, once a day; how it will go.

    Raises:
        CannotBeReached: no channel is agreed and noted; the text says why.
        ReminderError: the review is closed or booked, messages are off, or it was written today.
    """
    now = timezone.now()
    with acting(actor) as trail:
        stored = (
            Review.objects.select_for_update(of=("self",), no_key=True)
            .select_related("patient", "appointment")
            .get(pk=review.pk)
        )
        if stored.closed_at is not None:
            raise ReminderError("This review is closed already.")
        if has_a_visit_to_come(stored):
            raise ReminderError("This review is booked already.")
        way = _way_to(stored.patient)
        key = f"review:{stored.pk}:{timezone.localdate():%Y%m%d}"
        until = now + TRIED_FOR
        if not write_to(patient=stored.patient, review=stored, key=key, until=until, actor=actor):
            raise ReminderError("An invitation was written today already.")
        after = {"route": way.route}
        trail.add("review.invited", stored, patient_id=stored.patient_id, after=after)
        tick_now()
    return way


def _way_to(patient: Patient) -> Reach:
    """How a message goes. Raises as `invite_to_review`."""
    if not reminder_policy().is_on:
        raise ReminderError("Messages are turned off. The owner turns them on under Messages.")
    way = reach(patient)
    if not way.is_written:
        raise CannotBeReached(f"No message can be sent: {_lower(way.why_not)} Please call.")
    return way


def ask_by_link(*, patient: Patient, reference: str, until: datetime, actor) -> Reach:
    """
    Write the patient a message that brings the link of `reference`, once; how it will go.

    Raises:
        CannotBeReached: no channel is agreed and noted; the text says why.
        ReminderError: messages are off, or it was written already.
    """
    with acting(actor):
        Patient.objects.select_for_update().get(pk=patient.pk)
        way = _way_to(patient)
        if Message.objects.filter(reference=reference).exists():
            raise ReminderError("This link was sent already.")
        new_message(
            key=f"questions:{reference}", kind=MessageKind.QUESTIONS, patient_id=patient.pk,
            due_at=timezone.now(), until=until, reference=reference, actor=actor,
        ).save(force_insert=True)  # fmt: skip
        tick_now()
    return way


def ask_no_more(*, reference: str, actor) -> None:
    """Take back the message that brings this link, if it waits yet."""
    with acting(actor) as trail:
        waiting = Message.objects.waiting().select_for_update(no_key=True)
        for message in waiting.filter(reference=reference):
            withdraw(message, trail, "What it would have told no longer holds.")


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
