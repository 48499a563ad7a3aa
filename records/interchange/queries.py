"""All that a clinic knows of one patient, read once."""

from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Prefetch, QuerySet

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from records.adverse_events.models import AdverseEvent
from records.aftercare.models import CheckInAnswer
from records.appointments.models import Appointment
from records.assessments.models import Assessment
from records.comparisons.models import ComparisonSheet
from records.consents.models import Consent, ConsentText
from records.elsewhere.models import ReportedCare
from records.occlusions.models import OcclusionEntry
from records.patients.models import Alert, ContactConsent, Patient
from records.photographs.models import Photograph
from records.plans.models import Plan
from records.reviews.models import Review
from records.screening.models import HistoryForm
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession


@dataclass(frozen=True)
class PatientRecord:
    """
    One patient's record as of `at`. What hangs on a row is prefetched with it: whoever builds
    something of a record asks the database for nothing more.

    Attributes:
        clinic: the first digest of the audit trail, which no other clinic has.
        staff, rooms, sites: by id.
        newest_texts: the latest version of each kind of consent text.
    """

    at: datetime
    clinic: str
    patient: Patient
    policy: ClinicPolicy
    staff: dict[int, User] = field(default_factory=dict)
    rooms: dict[int, Room] = field(default_factory=dict)
    sites: dict[int, Site] = field(default_factory=dict)
    newest_texts: dict[str, int] = field(default_factory=dict)
    alerts: list[Alert] = field(default_factory=list)
    contact_consents: list[ContactConsent] = field(default_factory=list)
    appointments: list[Appointment] = field(default_factory=list)
    sessions: list[TreatmentSession] = field(default_factory=list)
    consents: list[Consent] = field(default_factory=list)
    histories: list[HistoryForm] = field(default_factory=list)
    photographs: list[Photograph] = field(default_factory=list)
    comparisons: list[ComparisonSheet] = field(default_factory=list)
    plans: list[Plan] = field(default_factory=list)
    assessments: list[Assessment] = field(default_factory=list)
    events: list[AdverseEvent] = field(default_factory=list)
    elsewhere: list[ReportedCare] = field(default_factory=list)
    reviews: list[Review] = field(default_factory=list)
    check_ins: list[CheckInAnswer] = field(default_factory=list)


def read_record(patient: Patient, *, at: datetime) -> PatientRecord:
    """The whole record; as many queries, however much there is."""
    texts = ConsentText.objects.order_by("version").values_list("kind", "version")
    return PatientRecord(
        at=at,
        clinic=AuditEvent.objects.filter(id=1).values_list("digest", flat=True).first() or "",
        patient=patient,
        policy=current_policy(),
        staff=User.objects.in_bulk(),
        rooms=Room.objects.in_bulk(),
        sites=Site.objects.in_bulk(),
        newest_texts=dict(texts),
        alerts=list(patient.alerts.order_by("id")),
        contact_consents=list(patient.contact_consents.order_by("id")),
        appointments=list(patient.appointments.order_by("starts_at", "id")),
        sessions=list(_sessions().filter(patient=patient)),
        consents=list(_consents().filter(patient=patient)),
        histories=list(_histories().filter(patient=patient)),
        photographs=list(
            patient.photographs.select_related("session").prefetch_related("uses").order_by("id")
        ),
        comparisons=list(
            ComparisonSheet.objects.filter(first__patient=patient)
            .select_related("first", "second")
            .order_by("id")
        ),
        plans=list(_plans().filter(patient=patient)),
        assessments=list(patient.assessments.prefetch_related("regions").order_by("id")),
        events=list(_events().filter(patient=patient)),
        elsewhere=list(patient.reported_care.order_by("id")),
        reviews=list(
            patient.reviews.prefetch_related("records__ratings", "asks").order_by("due_on", "id")
        ),
        check_ins=list(
            CheckInAnswer.objects.filter(check_in__session__patient=patient)
            .select_related("check_in")
            .order_by("at", "id")
        ),
    )


def _sessions() -> QuerySet[TreatmentSession]:
    """With all of its points, also the removed ones: they are told as entered in error."""
    stock = ("unit__lot__product", "unit__opening")
    entries = OcclusionEntry.objects.select_related("unit__lot__product", "unit__opening")
    return TreatmentSession.objects.order_by("started_at", "id").prefetch_related(
        Prefetch("points", InjectionEntry.objects.select_related(*stock).order_by("number")),
        Prefetch("tray", SessionUnit.objects.select_related(*stock).order_by("id")),
        Prefetch("occlusions__entries", entries.order_by("at", "id")),
        "occlusions__sheets",
        "anaesthesia",
        "addenda",
        "time_out_checks",
        "gate_decisions",
        "notes",
        "pictures",
        "aftercare_sheets",
    )


def _consents() -> QuerySet[Consent]:
    found = Consent.objects.select_related("text").prefetch_related("ticks__risk", "papers")
    return found.order_by("given_at", "id")


def _histories() -> QuerySet[HistoryForm]:
    return (
        HistoryForm.objects.select_related("questionnaire")
        .prefetch_related("questionnaire__questions", "answers__question", "checks")
        .order_by("begun_at", "id")
    )


def _plans() -> QuerySet[Plan]:
    return Plan.objects.prefetch_related(
        "stages__session", "stages__lines__product", "summaries"
    ).order_by("made_at", "id")


def _events() -> QuerySet[AdverseEvent]:
    known = ("lot__product", "product", "unit__lot__product", "unit__opening")
    points = InjectionEntry.objects.select_related("unit__lot__product", "unit__opening")
    return (
        AdverseEvent.objects.select_related(*known)
        .prefetch_related(Prefetch("points", points.order_by("session", "number")))
        .order_by("onset_on", "id")
    )
