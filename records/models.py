"""Gathers the tables of the capabilities."""

from records.adverse_events.models import AdverseEvent
from records.appointments.models import Appointment, HeldCell
from records.assessments.models import Assessment, GradedRegion
from records.calendars.models import CalendarEntry, CalendarFeed
from records.charting.models import Operation
from records.elsewhere.models import ReportedCare
from records.follow_up.models import ContactAttempt
from records.mailings.models import LetterBatch, Mailing, MailingItem, MailTemplate
from records.notes.models import ChartNote
from records.patients.models import Alert, ContactConsent, Patient, PatientWord
from records.plans.models import (
    Plan,
    PlanLine,
    PlanStage,
    PlanSummary,
    PlanTemplate,
    TemplateLine,
)
from records.recalls.models import (
    CaseCheck,
    CaseContact,
    CaseEvent,
    CaseMailing,
    CasePatient,
    CaseReport,
    CaseSpan,
    CaseUnit,
    NoticeFile,
    RecallCase,
)
from records.reminders.models import Answer, Message, MessageTemplate, ReminderPolicy
from records.reviews.models import Review, ReviewAsk, ReviewDate
from records.sessions.models import (
    Addendum,
    Anaesthesia,
    InjectionEntry,
    Marking,
    Opening,
    SessionPicture,
    SessionUnit,
    TreatmentSession,
)  # fmt: skip
from records.waiting_list.models import FreedTime, Offer, WaitingEntry

__all__ = [
    "Addendum",
    "AdverseEvent",
    "Alert",
    "Anaesthesia",
    "Answer",
    "Appointment",
    "Assessment",
    "CalendarEntry",
    "CalendarFeed",
    "CaseCheck",
    "CaseContact",
    "CaseEvent",
    "CaseMailing",
    "CasePatient",
    "CaseReport",
    "CaseSpan",
    "CaseUnit",
    "ChartNote",
    "ContactAttempt",
    "ContactConsent",
    "FreedTime",
    "GradedRegion",
    "HeldCell",
    "InjectionEntry",
    "LetterBatch",
    "MailTemplate",
    "Mailing",
    "MailingItem",
    "Marking",
    "Message",
    "MessageTemplate",
    "NoticeFile",
    "Offer",
    "Opening",
    "Operation",
    "Patient",
    "PatientWord",
    "Plan",
    "PlanLine",
    "PlanStage",
    "PlanSummary",
    "PlanTemplate",
    "RecallCase",
    "ReminderPolicy",
    "ReportedCare",
    "Review",
    "ReviewAsk",
    "ReviewDate",
    "SessionPicture",
    "SessionUnit",
    "TemplateLine",
    "TreatmentSession",
    "WaitingEntry",
]
