"""The demo's messages to patients, in every state, and what patients answered."""

import itertools
from datetime import timedelta

from django.utils import timezone

from clinic.policy.queries import current_policy
from records.demo.story import Story
from records.reminders.enums import AnswerKind, MessageState
from records.reminders.models import Message, ReminderPolicy
from records.reminders.services.answering import answer_by
from records.reminders.services.owning import save_reminder_policy
from records.reminders.services.reconciling import reconcile
from records.reminders.services.sending import claim, settle_sending

# What became of some; all others were sent.
BECAME = {
    1: (MessageState.UNDELIVERABLE, "The number is not in service."),
    4: (MessageState.UNSURE, "The line broke: nobody knows whether it went."),
}
ANSWERS = [
    (AnswerKind.COMES, ""),
    (AnswerKind.CHANGE, "A Thursday after four would be better"),
    (AnswerKind.COMES, ""),
    (AnswerKind.CANNOT, ""),
]


def turn_on(story: Story) -> None:
    save_reminder_policy(policy=ReminderPolicy(is_on=True), actor=story.clinic.staff["owner"])


def tell_patients(story: Story) -> None:
    """
    Nothing is handed over, however the demo is set up: what would have become of it is written
    down.
    """
    reconcile()
    clinic, number = current_policy(), itertools.count()
    while message := claim(clinic):
        settle_sending(message, *BECAME.get(next(number), (MessageState.SENT,)))
    _answer()


def _answer() -> None:
    """Some of those who were told of a visit on another day."""
    tomorrow = timezone.now() + timedelta(hours=12)
    told = Message.objects.filter(state=MessageState.SENT, starts_at__gt=tomorrow)
    for message, (kind, note) in zip(told.order_by("pk"), ANSWERS, strict=False):
        answer_by(message=message, kind=kind, note=note)
