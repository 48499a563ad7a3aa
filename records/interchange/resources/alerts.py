"""Allergies and what else whoever treats the patient must see: AllergyIntolerance, Flag."""

from collections.abc import Iterator

from records.interchange.parts import (
    HL7,
    SNOMED,
    Json,
    annotation,
    coding,
    concept,
    extension,
    moment,
    optional_moment,
    own_coding,
    own_concept,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References
from records.patients.enums import AlertKind, AlertLevel
from records.patients.models import Alert

# R4B, AllergyIntolerance: how "no known allergies" is recorded.
_NO_KNOWN_ALLERGY = coding(SNOMED, "716186003", "No known allergy")
_ALLERGIES = (AlertKind.ALLERGY, AlertKind.NONE_KNOWN)


def alerts(record: PatientRecord, refs: References) -> Iterator[Json]:
    for alert in record.alerts:
        yield _allergy(alert, refs) if alert.kind in _ALLERGIES else _flag(alert, refs)


def _allergy(alert: Alert, refs: References) -> Json:
    """
    One that was ended is inactive; whether it had never been true its reason tells. How loudly the
    clinic says it is no measure of how bad a reaction would be, and stands apart.
    """
    is_denial = alert.kind == AlertKind.NONE_KNOWN
    clinical = "active" if alert.ended_at is None else "inactive"
    return {
        "resourceType": "AllergyIntolerance",
        "id": refs.id_of("AllergyIntolerance", alert.pk),
        "extension": [_level(alert)],
        "clinicalStatus": concept(
            clinical.capitalize(), coding(f"{HL7}/allergyintolerance-clinical", clinical)
        ),
        "code": concept(alert.text, *([_NO_KNOWN_ALLERGY] if is_denial else [])),
        "patient": refs.patient,
        "recordedDate": moment(alert.added_at),
        "recorder": refs.person(alert.added_by_id),
        "note": [_end(alert, refs)] if alert.ended_at else [],
    }


def _flag(alert: Alert, refs: References) -> Json:
    return {
        "resourceType": "Flag",
        "id": refs.id_of("Flag", alert.pk),
        "extension": [
            _level(alert),
            *([extension("remark", "String", _end_text(alert))] if alert.ended_at else []),
        ],
        "status": "active" if alert.ended_at is None else "inactive",
        "category": [own_concept("alert-kind", AlertKind(alert.kind))],
        "code": concept(alert.text),
        "subject": refs.patient,
        "period": {"start": moment(alert.added_at), "end": optional_moment(alert.ended_at)},
        "author": refs.person(alert.added_by_id),
    }


def _level(alert: Alert) -> Json:
    return extension("alert-level", "Coding", own_coding("alert-level", AlertLevel(alert.level)))


def _end_text(alert: Alert) -> str:
    return f"Ended: {alert.end_reason}" if alert.end_reason else "Ended"


def _end(alert: Alert, refs: References) -> Json:
    return annotation(_end_text(alert), at=alert.ended_at, author=refs.person(alert.ended_by_id))
