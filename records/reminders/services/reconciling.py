"""
Which messages the diary asks for.

The diary is compared with what patients were told, again and again: whatever way an appointment was
booked, moved or cancelled, nothing has to remember to say so. What is seen twice is written once
(`Message.key`). A booking that is corrected within the minute is told of once, as it is then.
"""

from datetime import datetime, timedelta

from django.db.models import Exists, F, OuterRef, Q, Subquery
from django.utils import timezone

from clinic.audit.services import Trail, acting
from clinic.policy.queries import current_policy
from planning.quiet_hours import QuietHours, not_quiet_from, reminder_time
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.reminders.enums import MessageKind, MessageState
from records.reminders.models import Message
from records.reminders.queries import latest_answers, reminder_policy, says_no
from records.reminders.services.writing import key_of, new_message, write_about

WRITTEN_AHEAD = timedelta(days=1)
"""Reminders are written so long before they are due, so that the clinic can see what is to come."""

_OF_A_BOOKING = [kind for kind in MessageKind if kind.is_of_a_booking]


def reconcile(now: datetime | None = None) -> None:
    """Write what is missing and withdraw what no longer holds; nothing while messages are off."""
    now, policy = now or timezone.now(), reminder_policy()
    if not policy.is_on:
        return
    _withdraw_outdated(now)
    quiet = current_policy().quiet
    if policy.confirms:
        _tell_times(quiet, now)
        _tell_cancellations(quiet, now)
    if policy.reminds:
        _remind(policy.before, quiet, now)


def take_as_known(now: datetime) -> int:
    """
    Where messages are turned on, whoever has a booking then was told by other means: none of them
    gets a confirmation. How many there are.
    """
    booked = _booked(now).exclude(
        Exists(Message.objects.telling_the_time().filter(appointment=OuterRef("pk")))
    )
    known = [
        new_message(
            key=key_of(row, MessageKind.CONFIRMATION), kind=MessageKind.CONFIRMATION,
            patient_id=row.patient_id, due_at=now, until=row.starts_at,
            state=MessageState.KNOWN, appointment=row,
        )
        for row in booked
    ]  # fmt: skip
    Message.objects.bulk_create(known, ignore_conflicts=True, batch_size=500)
    return len(known)


def withdraw(message: Message, trail: Trail, why: str) -> None:
    """Take a waiting message back; its row is locked. The same news may be written again."""
    message.state, message.problem = MessageState.WITHDRAWN, why
    message.key = f"{message.key}:withdrawn:{message.pk}"
    message.save(update_fields=["state", "problem", "key"])
    trail.add("message.withdrawn", message, patient_id=message.patient_id, reason=why)


def _booked(now: datetime):
    return Appointment.objects.filter(state=AppointmentState.BOOKED, starts_at__gt=now)


def _withdraw_outdated(now: datetime) -> None:
    moved = Q(kind__in=_OF_A_BOOKING) & ~Q(
        appointment__state=AppointmentState.BOOKED, appointment__starts_at=F("starts_at")
    )
    answered = Q(kind=MessageKind.OFFER) & ~Q(appointment__state=AppointmentState.OFFERED)
    outdated = Message.objects.waiting().filter(moved | answered | Q(until__lte=now))
    for pk in list(outdated.values_list("pk", flat=True)):
        with acting(None) as trail:
            message = Message.objects.waiting().select_for_update(no_key=True).filter(pk=pk).first()
            if message:
                withdraw(message, trail, "What it would have told no longer holds.")


def _with_what_was_told(appointments, now: datetime):
    """Each with the time its patient was last told (`told_at`), by which message and since when."""
    told = Message.objects.telling_the_time().filter(appointment=OuterRef("pk")).order_by("-pk")
    return appointments.annotate(
        told_at=Subquery(told.values("starts_at")[:1]),
        told_by=Subquery(told.values("pk")[:1]),
        told_on=Subquery(told.values("written_at")[:1]),
    )


def _tell_times(quiet: QuietHours, now: datetime) -> None:
    due_at = not_quiet_from(now, quiet, timezone.get_current_timezone())
    booked = _with_what_was_told(_booked(now), now)
    for row in booked.filter(Q(told_at=None) | ~Q(told_at=F("starts_at"))):
        kind = MessageKind.CHANGED if row.told_by else MessageKind.CONFIRMATION
        write_about(appointment=row, kind=kind, due_at=due_at, after=row.told_by or 0)


def _tell_cancellations(quiet: QuietHours, now: datetime) -> None:
    due_at = not_quiet_from(now, quiet, timezone.get_current_timezone())
    told_of = Message.objects.filter(
        appointment=OuterRef("pk"), kind=MessageKind.CANCELLED, pk__gt=OuterRef("told_by")
    )
    cancelled = Appointment.objects.filter(state=AppointmentState.CANCELLED, starts_at__gt=now)
    rows = _with_what_was_told(cancelled, now).exclude(told_by=None).filter(~Exists(told_of))
    for row in rows:
        write_about(appointment=row, kind=MessageKind.CANCELLED, due_at=due_at, after=row.told_by)


def _remind(before: timedelta, quiet: QuietHours, now: datetime) -> None:
    written = Message.objects.filter(
        appointment=OuterRef("pk"), kind=MessageKind.REMINDER, starts_at=OuterRef("starts_at")
    ).exclude(state=MessageState.WITHDRAWN)
    soon = _booked(now).filter(starts_at__lte=now + before + WRITTEN_AHEAD)
    zone = timezone.get_current_timezone()
    rows = list(_with_what_was_told(soon, now).filter(~Exists(written)))
    answers = latest_answers(rows)
    for row in rows:
        # Whoever said that they cannot come is not expected.
        if says_no(answers.get(row.pk)):
            continue
        # Whoever was told of this time within these hours needs no reminder.
        if row.told_at == row.starts_at and row.told_on > row.starts_at - before:
            continue
        due_at = reminder_time(row.starts_at, before, quiet, zone)
        write_about(appointment=row, kind=MessageKind.REMINDER, due_at=due_at)
