"""Gathers the tables of the capabilities."""

from records.adverse_events.models import AdverseEvent
from records.aftercare.models import AftercareSheet, AftercareText, CheckIn, CheckInAnswer
from records.appointments.models import Appointment, HeldCell
from records.assessments.models import Assessment, GradedRegion
from records.calendars.models import CalendarEntry, CalendarFeed
from records.charting.models import Operation
from records.comparisons.models import ComparisonSheet, PhotographMark
from records.consents.models import (
    Consent,
    ConsentPaper,
    ConsentRisk,
    ConsentText,
    ConsentTick,
)
from records.elsewhere.models import ReportedCare
from records.follow_up.models import ContactAttempt
from records.gates.models import GateDecision
from records.mailings.models import LetterBatch, Mailing, MailingItem, MailTemplate
from records.notes.models import ChartNote
from records.occlusions.models import HandoverSheet, Occlusion, OcclusionEntry
from records.outcomes.models import (
    CarryOver,
    OwnAnswers,
    RegionRating,
    ReviewDraft,
    ReviewRecord,
)
from records.patients.models import Alert, ContactConsent, Patient, PatientWord
from records.photographs.models import ChosenSeries, Photograph, PhotographUse
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
from records.record_access.models import AccessFinding, AccessLook, StaffPatient
from records.reminders.models import Answer, Message, MessageTemplate, ReminderPolicy
from records.reviews.models import Review, ReviewAsk, ReviewDate
from records.screening.models import (
    HistoryAnswer,
    HistoryCheck,
    HistoryForm,
    HistoryLink,
    Question,
    Questionnaire,
    RaisedAlert,
    ScreeningRule,
)
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
from records.time_out.models import TimeOutCheck
from records.waiting_list.models import FreedTime, Offer, WaitingEntry
from records.whole_record.models import WholeRecord

__all__ = [
    "AccessFinding",
    "AccessLook",
    "Addendum",
    "AdverseEvent",
    "AftercareSheet",
    "AftercareText",
    "Alert",
    "Anaesthesia",
    "Answer",
    "Appointment",
    "Assessment",
    "CalendarEntry",
    "CalendarFeed",
    "CarryOver",
    "CaseCheck",
    "CaseContact",
    "CaseEvent",
    "CaseMailing",
    "CasePatient",
    "CaseReport",
    "CaseSpan",
    "CaseUnit",
    "ChartNote",
    "CheckIn",
    "CheckInAnswer",
    "ChosenSeries",
    "ComparisonSheet",
    "Consent",
    "ConsentPaper",
    "ConsentRisk",
    "ConsentText",
    "ConsentTick",
    "ContactAttempt",
    "ContactConsent",
    "FreedTime",
    "GateDecision",
    "GradedRegion",
    "HandoverSheet",
    "HeldCell",
    "HistoryAnswer",
    "HistoryCheck",
    "HistoryForm",
    "HistoryLink",
    "InjectionEntry",
    "LetterBatch",
    "MailTemplate",
    "Mailing",
    "MailingItem",
    "Marking",
    "Message",
    "MessageTemplate",
    "NoticeFile",
    "Occlusion",
    "OcclusionEntry",
    "Offer",
    "Opening",
    "Operation",
    "OwnAnswers",
    "Patient",
    "PatientWord",
    "Photograph",
    "PhotographMark",
    "PhotographUse",
    "Plan",
    "PlanLine",
    "PlanStage",
    "PlanSummary",
    "PlanTemplate",
    "Question",
    "Questionnaire",
    "RaisedAlert",
    "RecallCase",
    "RegionRating",
    "ReminderPolicy",
    "ReportedCare",
    "Review",
    "ReviewAsk",
    "ReviewDate",
    "ReviewDraft",
    "ReviewRecord",
    "ScreeningRule",
    "SessionPicture",
    "SessionUnit",
    "StaffPatient",
    "TemplateLine",
    "TimeOutCheck",
    "TreatmentSession",
    "WaitingEntry",
    "WholeRecord",
]
