"""What the desk handles besides: messages about visits, and who waits for an earlier one."""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from django.utils import timezone

from clinic.staff.models import User
from clinic.visit_kinds.enums import AppointmentKind
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.reminders.enums import MessageKind, MessageRoute, MessageState
from records.reminders.models import Message, ReminderPolicy
from records.waiting_list.models import WaitingEntry

TOLD_BEFORE = timedelta(days=1)
SINCE = timedelta(days=14)
# One in so many came back.
CAME_BACK = 100


def fill_messages(visits: Iterable[Appointment], now: datetime) -> None:
    """A reminder of each visit from a fortnight ago to tomorrow; those of the next day wait."""
    ReminderPolicy.objects.create(is_on=True)
    told = [
        visit
        for visit in visits
        if now - SINCE <= visit.starts_at - TOLD_BEFORE <= now + TOLD_BEFORE
    ]
    Message.objects.bulk_create(_reminders(told, now))


def _reminders(visits: Iterable[Appointment], now: datetime) -> Iterator[Message]:
    for number, visit in enumerate(visits):
        due_at, name = visit.starts_at - TOLD_BEFORE, f"bench-{visit.pk}"
        message = Message(
            key=name, reference=name, token_digest=name,
            kind=MessageKind.REMINDER, patient_id=visit.patient_id, appointment=visit,
            starts_at=visit.starts_at, written_at=now - SINCE, due_at=due_at, next_try_at=due_at,
            until=visit.starts_at, subject="Your visit", text="We look forward to seeing you.",
        )  # fmt: skip
        if due_at <= now:
            is_back = number % CAME_BACK == 0
            message.state = MessageState.UNDELIVERABLE if is_back else MessageState.SENT
            message.route, message.recipient = MessageRoute.EMAIL, visit.patient.email
            message.at, message.attempts = due_at, 1
        yield message


def fill_waiting_list(patients: Iterable[Patient], desk: User, now: datetime) -> None:
    """They wait for an earlier treatment."""
    WaitingEntry.objects.bulk_create(
        WaitingEntry(
            patient=patient, kind=AppointmentKind.TREATMENT, first_on=timezone.localdate(now),
            added_at=now - SINCE, added_by=desk,
        )
        for patient in patients
    )  # fmt: skip
