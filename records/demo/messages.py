"""The demo's messages to patients, in every state, and what patients answered."""

import itertools
from datetime import timedelta

from django.utils import timezone

from clinic.policy.queries import current_policy
from records.demo.story import Story
from records.reminders.enums import AnswerKind, MessageState
from records.reminders.models import ReminderPolicy
from records.reminders.services.answering import answer_by
from records.reminders.services.owning import save_reminder_policy
from records.reminders.services.reconciling import reconcile
from records.reminders.services.sending import claim, settle_sending

# What became of some of those about another day; all others were sent.
BECAME = {
    1: (MessageState.UNDELIVERABLE, "The number is not in service."),
    3: (MessageState.UNSURE, "The line broke: nobody knows whether it went."),
}
ANSWERS = [
    (AnswerKind.COMES, ""),
    (AnswerKind.CHANGE, "A Thursday after four would be better"),
    (AnswerKind.CANNOT, ""),
    (AnswerKind.COMES, ""),
]
ANOTHER_DAY = timedelta(hours=16)


def turn_on(story: Story) -> None:
    save_reminder_policy(
        policy=ReminderPolicy(is_on=True, checks_in=True), actor=story.clinic.staff["owner"]
    )


def tell_patients(story: Story) -> None:
    """
    Nothing is handed over, however the demo is set up: what would have become of it is written
    down.
    """
    reconcile()
    clinic, later = current_policy(), timezone.now() + ANOTHER_DAY
    number, answers = itertools.count(), iter(ANSWERS)
    while message := claim(clinic):
        is_later = message.starts_at is not None and message.starts_at > later
        became = BECAME.get(next(number)) if is_later else None
        settle_sending(message, *(became or (MessageState.SENT,)))
        if is_later and not became and (answer := next(answers, None)):
            answer_by(message=message, kind=answer[0], note=answer[1])
