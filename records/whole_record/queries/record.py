"""A patient's whole record, gathered for its template."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from planning.ages import age_years
from records.patients.models import Patient
from records.whole_record.models import WholeRecord
from records.whole_record.queries import agreed, person, told, visits
from records.whole_record.queries.photographs import Album, photographs
from records.whole_record.queries.tables import Chapter
from records.whole_record.queries.treatments import Treatments, overview


@dataclass(frozen=True)
class RecordContent:
    """
    Everything that is on record about a patient, in reading order.

    Attributes:
        trail: a line for each event of the audit trail about the patient.
    """

    policy: ClinicPolicy
    asked: WholeRecord
    patient: Patient
    age: int
    as_of: datetime
    chapters: Sequence[Chapter]
    treatments: Treatments
    album: Album
    trail: Sequence[str]


def record_content(asked: WholeRecord) -> RecordContent:
    patient = asked.patient
    treatments, album = Treatments(patient), Album(patient)
    return RecordContent(
        policy=current_policy(),
        asked=asked,
        patient=patient,
        age=age_years(patient.birth_date, timezone.localdate()),
        as_of=timezone.now(),
        chapters=[
            person.identity(patient),
            person.alerts(patient),
            person.history(patient),
            person.elsewhere(patient),
            person.former_record(patient),
            person.assessments(patient),
            agreed.plans(patient),
            agreed.consents(patient),
            overview(treatments),
            visits.reviews(patient),
            visits.adverse_events(patient),
            told.aftercare(patient),
            photographs(patient, album),
            visits.appointments(patient),
            told.messages(patient),
            told.papers(patient),
        ],
        treatments=treatments,
        album=album,
        trail=told.trail(patient),
    )
