"""What the desk decides about messages and answers that came back to it."""

from django.utils import timezone

from clinic.audit.services import acting
from clinic.background.queue import tick_now
from records.reminders.enums import MessageState
from records.reminders.errors import ReminderError
from records.reminders.models import Answer, Message

_TRIED = (MessageState.UNDELIVERABLE, MessageState.UNSURE)


def note_called(*, message: Message, actor) -> None:
    """
    The patient was called, or reached by other means, instead.

    Raises:
        ReminderError: there is nothing to decide about it any more.
    """
    _settle(message, actor, "Told by a person", [s for s in MessageState if s.needs_a_person])


def give_up(*, message: Message, actor) -> None:
    """Nobody will tell the patient. Raises as `note_called`."""
    _settle(message, actor, "Given up", [s for s in MessageState if s.needs_a_person])


def take_as_sent(*, message: Message, actor) -> None:
    """Somebody has found out that an unsure one did go. Raises as `note_called`."""
    _settle(message, actor, "It was sent", [MessageState.UNSURE])


def send_again(*, message: Message, actor) -> None:
    """
    Let a message that did not go, or of which nobody knows, wait anew. An unsure one may then
    arrive twice. Raises as `note_called`, and where what it tells no longer holds.
    """
    with acting(actor) as trail:
        stored = _to_decide(message, _TRIED)
        if stored.until <= timezone.now() or not stored.is_about_what_holds:
            raise ReminderError("What this message tells no longer holds: it is not sent again.")
        before = stored.state
        stored.state, stored.next_try_at = MessageState.WAITING, timezone.now()
        stored.problem = ""
        stored.save(update_fields=["state", "next_try_at", "problem"])
        trail.add(
            "message.again", stored, patient_id=stored.patient_id,
            before={"state": before}, after={"state": stored.state},
        )  # fmt: skip
        tick_now()


def settle_answer(*, answer: Answer, actor) -> None:
    """What a patient asked for is dealt with. Doing it twice changes nothing."""
    with acting(actor) as trail:
        stored = Answer.objects.select_for_update(of=("self",)).select_related("appointment")
        row = stored.get(pk=answer.pk)
        if row.settled_at is not None:
            return
        row.settled_at, row.settled_by = timezone.now(), actor
        row.save(update_fields=["settled_at", "settled_by"])
        trail.add("answer.settled", row, patient_id=row.appointment.patient_id)


def _settle(message: Message, actor, outcome: str, states) -> None:
    with acting(actor) as trail:
        stored = _to_decide(message, states)
        before = stored.state
        stored.state, stored.outcome = MessageState.SETTLED, outcome
        stored.settled_at, stored.settled_by = timezone.now(), actor
        stored.save(update_fields=["state", "outcome", "settled_at", "settled_by"])
        trail.add(
            "message.settled", stored, patient_id=stored.patient_id,
            before={"state": before}, after={"outcome": outcome},
        )  # fmt: skip


def _to_decide(message: Message, states) -> Message:
    locked = Message.objects.select_for_update(of=("self",)).select_related("appointment")
    stored = locked.get(pk=message.pk)
    if stored.state not in states:
        raise ReminderError(
            f"There is nothing to decide here any more: {stored.get_state_display().lower()}."
        )
    return stored
