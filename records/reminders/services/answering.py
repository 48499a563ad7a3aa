"""What a patient says by the link of a message."""

from django.utils import timezone

from clinic.audit.services import acting
from records.reminders.enums import AnswerKind, MessageKind
from records.reminders.errors import ReminderError
from records.reminders.models import MOST_ANSWERS, Answer, Message, is_booked_for
from records.reminders.queries import latest_answers
from records.reminders.tokens import TOKEN_LENGTH, digest_of


def message_of(token: str) -> Message | None:
    """
    The message whose link this is, while it can be answered: its visit is booked for the time it
    tells, and has not begun. None says nothing about why.
    """
    if len(token) != TOKEN_LENGTH:
        return None
    messages = Message.objects.select_related("appointment__site", "appointment__room__site")
    message = messages.filter(token_digest=digest_of(token)).first()
    if message is None or not MessageKind(message.kind).brings_a_link:
        return None
    appointment = message.appointment
    if appointment is None or not is_booked_for(appointment, message.starts_at):
        return None
    return message if appointment.starts_at > timezone.now() else None


def answer_by(*, message: Message, kind: AnswerKind, note: str = "") -> Answer:
    """
    Keep what the patient says; another answer takes its place. The same again changes nothing, but
    asks anew where the desk took it for settled.

    Raises:
        ReminderError: the visit was moved or cancelled meanwhile, or the answer changed too often.
    """
    with acting(None) as trail:
        locked = Message.objects.select_for_update(of=("self",)).select_related("appointment")
        stored = locked.get(pk=message.pk)
        appointment = stored.appointment
        if appointment is None or not is_booked_for(appointment, stored.starts_at):
            raise ReminderError("This visit was changed meanwhile. Please call us.")
        given = Answer.objects.filter(appointment=appointment, starts_at=appointment.starts_at)
        latest = given.order_by("-pk").first()
        is_same = latest and (latest.kind, latest.note) == (kind, note)
        if latest and is_same and latest.settled_at is None:
            return latest
        if given.count() >= MOST_ANSWERS:
            raise ReminderError("This answer was changed too often. Please call us.")
        answer = Answer.objects.create(
            message=stored, appointment=appointment, starts_at=appointment.starts_at, kind=kind,
            note=note, at=timezone.now(),
        )  # fmt: skip
        trail.add("answer.given", answer, patient_id=appointment.patient_id, after={"kind": kind})
    return answer


def answer_to(message: Message) -> Answer | None:
    """What holds about this message's visit so far."""
    visit = message.appointment
    return latest_answers([visit]).get(visit.pk) if visit else None
