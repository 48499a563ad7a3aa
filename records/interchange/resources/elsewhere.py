"""What the patient had elsewhere, as the patient tells it: Procedure, and Immunization."""

from collections.abc import Iterator

from planning.care import CareKind, Precision
from records.elsewhere.models import ReportedCare
from records.interchange.parts import (
    Json,
    annotation,
    concept,
    moment,
    notes,
    own_concept,
    place_concept,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References

_KNOWN_TO = {Precision.DAY: 10, Precision.MONTH: 7, Precision.YEAR: 4}
"""How many letters of YYYY-MM-DD are known; FHIR takes a day, a month or a year."""


def reported_care(record: PatientRecord, refs: References) -> Iterator[Json]:
    for care in record.elsewhere:
        build = _vaccine if care.kind == CareKind.VACCINE else _procedure
        yield build(care, refs)


def _partial_day(care: ReportedCare) -> str | None:
    return care.day.isoformat()[: _KNOWN_TO[Precision(care.precision)]] if care.day else None


def _procedure(care: ReportedCare, refs: References) -> Json:
    """Units of a toxin nobody names stand in words alone: they belong to no product."""
    return {
        "resourceType": "Procedure",
        "id": refs.id_of("Procedure/elsewhere", care.pk),
        "status": "entered-in-error" if care.withdrawn_at else "completed",
        "category": concept("Reported by the patient, done elsewhere"),
        "code": own_concept("care-kind", CareKind(care.kind)),
        "subject": refs.patient,
        "performedDateTime": _partial_day(care),
        "performedString": None if care.day else "Day not known",
        "recorder": refs.person(care.reported_by_id),
        "asserter": refs.patient,
        "bodySite": [place_concept(care.region, "")],
        "note": _notes(care),
    }


def _vaccine(care: ReportedCare, refs: References) -> Json:
    return {
        "resourceType": "Immunization",
        "id": refs.id_of("Immunization", care.pk),
        "status": "entered-in-error" if care.withdrawn_at else "completed",
        "vaccineCode": concept("A vaccine, not named"),
        "patient": refs.patient,
        "occurrenceDateTime": _partial_day(care),
        "occurrenceString": None if care.day else "Day not known",
        "recorded": moment(care.reported_at),
        "primarySource": False,
        "reportOrigin": concept("Told by the patient"),
        "note": _notes(care),
    }


def _notes(care: ReportedCare) -> list[Json]:
    details = care.details.replace("\u00a0", " ")
    told = [*notes(("Told", details), ("Note", care.note))]
    if care.withdrawn_at:
        told.append(annotation("Withdrawn: it was reported wrongly.", at=care.withdrawn_at))
    return told
