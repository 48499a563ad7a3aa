"""Gathers the tables of the capabilities."""

from records.appointments.models import Appointment
from records.charting.models import Operation
from records.notes.models import ChartNote
from records.patients.models import Alert, Patient, PatientWord
from records.reviews.models import Review
from records.sessions.models import (
    Addendum,
    InjectionEntry,
    Marking,
    Opening,
    SessionPicture,
    SessionUnit,
    TreatmentSession,
)  # fmt: skip

__all__ = [
    "Addendum",
    "Alert",
    "Appointment",
    "ChartNote",
    "InjectionEntry",
    "Marking",
    "Opening",
    "Operation",
    "Patient",
    "PatientWord",
    "Review",
    "SessionPicture",
    "SessionUnit",
    "TreatmentSession",
]
