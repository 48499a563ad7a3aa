"""Noting that a tablet fetched patients' records."""

from collections.abc import Iterable
from datetime import date

from clinic.audit.services import acting
from records.charting.queries.day import not_read_today
from records.patients.models import Patient


def note_day_read(user, patients: Iterable[Patient], today: date) -> None:
    """Once for each patient, person and day: a tablet asks every minute."""
    people = {patient.pk: patient for patient in patients}
    unread = not_read_today(user, people, today) if people else set()
    if not unread:
        return
    with acting(user) as trail:
        for pk in sorted(unread):
            trail.add("read.day", people[pk], patient_id=pk)
