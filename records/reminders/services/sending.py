"""
Sending what is due, each message once.

A message is marked as being sent, and stored so, before its back end is called, and as sent after
it. Of one whose sending was cut off in between the back end is asked whether it went: it is sent
again only if it certainly did not, and where nobody can know, a person decides.
"""

import logging
from datetime import datetime

from django.conf import settings
from django.utils import timezone

from clinic.audit.services import acting
from clinic.background import ticks
from clinic.background.presence import note_seen
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from planning.quiet_hours import is_quiet
from planning.retries import next_try
from records.reminders.attachments import attachments_of
from records.reminders.enums import MessageKind, MessageRoute, MessageState
from records.reminders.errors import NobodyKnows, NotNow, Refused
from records.reminders.models import LONGEST_SUBJECT, Message
from records.reminders.queries import latest_answers, reach, reminder_policy, says_no
from records.reminders.routes import emails
from records.reminders.routes.loading import text_message_route
from records.reminders.services.reconciling import withdraw
from records.reminders.tokens import digest_of, token_of
from records.reminders.wording import with_link, worded

logger = logging.getLogger(__name__)

_CUT_OFF = "Its sending was cut off: it may have gone."
_KNOWN_ANYWAY = "Booked by telephone or at the desk, so told there."


def send_due() -> None:
    """Send one due message after another until none is left or the worker is to stop."""
    take_up_cut_off()
    policy = reminder_policy()
    zone = timezone.get_current_timezone()
    while policy.is_on and not ticks.stopping.is_set():
        clinic = current_policy()
        if is_quiet(timezone.now(), clinic.quiet, zone):
            return
        message = claim(clinic)
        if message is None:
            return
        deliver(message, clinic)
        note_seen()


def take_up_cut_off() -> None:
    """Decide about each message that has been being sent for longer than any sending takes."""
    before = timezone.now() - settings.MESSAGE_LEASE
    for message in Message.objects.filter(state=MessageState.SENDING, at__lt=before):
        try:
            went = _was_sent(message)
        except Exception:
            logger.exception("A back end could not be asked about %s", message.reference)
            continue
        if went:
            settle_sending(message, MessageState.SENT)
        elif went is None:
            settle_sending(message, MessageState.UNSURE, _CUT_OFF)
        else:
            settle_sending(message, MessageState.WAITING, next_try_at=timezone.now())


def claim(clinic: ClinicPolicy) -> Message | None:
    """
    The next due message, marked as being sent to whom and in which words.

    Those that no longer hold are withdrawn on the way; those whose patient is not written to go to
    the desk.
    """
    with acting(None) as trail:
        due = (
            Message.objects.waiting()
            .filter(next_try_at__lte=timezone.now())
            .order_by("next_try_at", "id")
            .select_related(
                "patient",
                "appointment__practitioner",
                "appointment__room__site",
                "appointment__site",
                "review__appointment",
            )
            # Another worker's are passed over, not waited for.
            .select_for_update(of=("self",), no_key=True, skip_locked=True)
        )
        while message := due.first():
            now = timezone.now()
            if message.until <= now or not message.is_about_what_holds or _is_answered(message):
                withdraw(message, trail, "What it would have told no longer holds.")
                continue
            way = reach(message.patient)
            if way.is_written:
                _mark(message, clinic, way.route, way.recipient, now)
                return message
            is_told = message.kind == MessageKind.CONFIRMATION
            message.state = MessageState.KNOWN if is_told else MessageState.TO_CALL
            message.route = MessageRoute.CALL
            message.problem = _KNOWN_ANYWAY if is_told else way.why_not
            message.save(update_fields=["state", "route", "problem"])
            trail.add(f"message.{message.state}", message, patient_id=message.patient_id)
    return None


def _is_answered(message: Message) -> bool:
    """Whoever said that they cannot come is not reminded, whatever the desk made of it so far."""
    if message.kind != MessageKind.REMINDER or message.appointment is None:
        return False
    return says_no(latest_answers([message.appointment]).get(message.appointment.pk))


def _mark(
    message: Message, clinic: ClinicPolicy, route: MessageRoute, recipient: str, now: datetime
) -> None:
    message.state, message.at, message.route = MessageState.SENDING, now, route
    message.recipient, message.problem = recipient, ""
    message.attempts += 1
    wording = worded(message, clinic)
    message.subject, message.text = wording.subject[:LONGEST_SUBJECT], wording.text
    message.token_digest = digest_of(token_of(message.reference))
    message.save(
        update_fields=[
            "state", "at", "route", "recipient", "problem", "attempts", "subject", "text",
            "token_digest",
        ]
    )  # fmt: skip


def deliver(message: Message, clinic: ClinicPolicy) -> None:
    """Hand a claimed message over, and note what became of it."""
    now = timezone.now
    try:
        _hand_over(message, clinic)
    except NotNow as error:
        again = next_try(message.attempts, now=now(), until=message.until)
        state = MessageState.WAITING if again else MessageState.UNDELIVERABLE
        settle_sending(message, state, str(error), next_try_at=again)
    except Refused as error:
        settle_sending(message, MessageState.UNDELIVERABLE, str(error))
    except NobodyKnows as error:
        settle_sending(message, MessageState.UNSURE, str(error))
    except Exception:
        # A fault of the back end's own code: whether the message went before it, it does not say.
        logger.exception("Sending %s failed", message.reference)
        settle_sending(message, MessageState.UNSURE, "The back end failed: it may have gone.")
    else:
        settle_sending(message, MessageState.SENT)


def _hand_over(message: Message, clinic: ClinicPolicy) -> None:
    text = with_link(message)
    if message.route == MessageRoute.SMS:
        text_message_route().send(to=message.recipient, text=text, reference=message.reference)
        return
    try:
        attachments = attachments_of(message)
    except Exception as error:
        logger.exception("The calendar file of %s could not be made", message.reference)
        raise NotNow("The calendar file could not be made.") from error
    emails.send_email(
        to=message.recipient, subject=message.subject, text=text, reference=message.reference,
        policy=clinic, attachments=attachments,
    )  # fmt: skip


def _was_sent(message: Message) -> bool | None:
    if message.route == MessageRoute.SMS:
        return text_message_route().was_sent(message.reference)
    return emails.was_sent(message.reference)


def settle_sending(
    message: Message,
    state: MessageState,
    problem: str = "",
    *,
    next_try_at: datetime | None = None,
) -> None:
    """
    Note what became of a sending, unless another has decided about it meanwhile; that a message
    went is true all the same while it is unsure or waits again.
    """
    may_change = {MessageState.SENDING}
    if state == MessageState.SENT:
        may_change |= {MessageState.UNSURE, MessageState.WAITING}
    with acting(None) as trail:
        stored = Message.objects.select_for_update(no_key=True).get(pk=message.pk)
        is_same = stored.attempts == message.attempts
        if stored.state not in may_change or not is_same:
            return
        stored.state, stored.problem = state, problem[:300]
        stored.at = timezone.now()
        if next_try_at:
            stored.next_try_at = next_try_at
        stored.save(update_fields=["state", "problem", "at", "next_try_at"])
        if state != MessageState.WAITING:
            trail.add(f"message.{stored.state}", stored, patient_id=stored.patient_id)
