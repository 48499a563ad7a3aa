"""Appointments and diaries as calendar files."""

import uuid
from collections.abc import Iterable
from datetime import timedelta

from django.utils import timezone
from django.utils.crypto import salted_hmac

from clinic.policy.models import ClinicPolicy
from clinic.staff.models import User
from planning.calendar_files import (
    CalendarFile,
    Entry,
    Invited,
    Method,
    Sender,
    Status,
    calendar_bytes,
)
from records.calendars.models import CalendarEntry
from records.calendars.queries import DiaryLine

REFRESH = timedelta(minutes=30)


def clinic_zone():
    """The zone whose clock the clinic goes by."""
    return timezone.get_default_timezone()


def invitation_bytes(entry: CalendarEntry, policy: ClinicPolicy, method: Method) -> bytes:
    """What is sent to the patient, and only to the patient."""
    people = Sender(policy.name, policy.email), Invited(entry.appointment.patient.email)
    told = _told(entry, policy)
    return calendar_bytes(CalendarFile([told], clinic_zone(), people=people, method=method))


def appointment_bytes(entry: CalendarEntry, policy: ClinicPolicy) -> bytes:
    """The same as a file that asks for no answer and names no patient."""
    return calendar_bytes(CalendarFile([_told(entry, policy)], clinic_zone()))


def _told(entry: CalendarEntry, policy: ClinicPolicy) -> Entry:
    """Neither the kind of the visit nor its note: a calendar is seen by many."""
    parts = [f"With {entry.appointment.practitioner}."]
    if policy.phone:
        parts.append(f"To change or cancel it, please call {policy.phone}.")
    return Entry(
        uid=str(entry.uid),
        sequence=entry.sequence,
        said_at=entry.said_at,
        starts_at=entry.starts_at,
        ends_at=entry.starts_at + timedelta(minutes=entry.minutes),
        summary=f"Appointment at {policy.name}",
        location=entry.place,
        description=" ".join(parts),
        status=Status.CANCELLED if entry.is_cancelled else Status.CONFIRMED,
    )


def diary_bytes(person: User, lines: Iterable[DiaryLine], policy: ClinicPolicy) -> bytes:
    """A person's diary for their own calendar: initials alone."""
    entries = [
        Entry(
            uid=_number_of(line),
            said_at=line.changed_at,
            starts_at=line.starts_at,
            ends_at=line.starts_at + timedelta(minutes=line.minutes),
            summary=line.initials,
            location=line.place,
            status=Status.TENTATIVE if line.is_offered else Status.CONFIRMED,
            is_private=True,
        )
        for line in lines
    ]
    name = f"{policy.name}: {person}"
    return calendar_bytes(CalendarFile(entries, clinic_zone(), name=name, refresh=REFRESH))


def _number_of(line: DiaryLine) -> str:
    """The same in each reading, and no number of ours."""
    digest = salted_hmac("records.calendars.diary", str(line.pk), algorithm="sha256").digest()
    return str(uuid.UUID(bytes=digest[:16]))
