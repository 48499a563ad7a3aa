"""Printing the sheet of a day is a read of everybody on it."""

from collections.abc import Iterable

from clinic.audit.services import acting
from records.diary.queries.sheets import DaySheet


def note_printing(*, sheets: Iterable[DaySheet], actor) -> None:
    """One event for each visit that is printed, under its patient."""
    with acting(actor) as trail:
        for sheet in sheets:
            for appointment in sheet.appointments:
                trail.add("appointment.printed", appointment, patient_id=appointment.patient_id)
