"""What went wrong: AdverseEvent."""

from collections.abc import Iterator

from records.adverse_events.enums import Causality, EventOutcome, Grade, Seriousness
from records.adverse_events.models import AdverseEvent
from records.interchange.parts import (
    HL7,
    Json,
    coding,
    concept,
    day,
    moment,
    optional_moment,
    own_coding,
    remark,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References, is_device

# R4B value sets adverse-event-severity and -outcome (required), -seriousness and -causality-assess
# (examples). The severity has three words, CTCAE five grades: the grade stands beside it.
SEVERITIES = {
    Grade.MILD: "mild",
    Grade.MODERATE: "moderate",
    Grade.SEVERE: "severe",
    Grade.LIFE_THREATENING: "severe",
    Grade.DEATH: "severe",
}
OUTCOMES = {
    EventOutcome.ONGOING: "ongoing",
    EventOutcome.RECOVERING: "recovering",
    EventOutcome.RECOVERED: "resolved",
    EventOutcome.WITH_SEQUELAE: "resolvedWithSequelae",
    EventOutcome.FATAL: "fatal",
    EventOutcome.UNKNOWN: "unknown",
}
SERIOUSNESS = {
    Seriousness.NOT_SERIOUS: "Non-serious",
    Seriousness.DEATH: "SeriousResultsInDeath",
    Seriousness.LIFE_THREATENING: "SeriousIsLifeThreatening",
    Seriousness.HOSPITAL: "SeriousResultsInHospitalization",
    Seriousness.DISABILITY: "SeriousResultsInDisability",
    Seriousness.BIRTH_DEFECT: "SeriousIsBirthDefect",
    Seriousness.IMPORTANT: "SeriousRequiresPreventImpairment",
}
CAUSALITIES = {
    Causality.CERTAIN: "Certain",
    Causality.PROBABLE: "Probably-Likely",
    Causality.POSSIBLE: "Possible",
    Causality.UNLIKELY: "Unlikely",
    Causality.UNCLASSIFIED: "Conditional-Classified",
    Causality.UNASSESSABLE: "Unassessable-Unclassifiable",
}


def adverse_events(record: PatientRecord, refs: References) -> Iterator[Json]:
    for event in record.events:
        yield _event(event, refs)


def _event(event: AdverseEvent, refs: References) -> Json:
    grade, outcome = Grade(event.grade), EventOutcome(event.outcome)
    suspects = _suspects(event, refs)
    severity = coding(f"{HL7}/adverse-event-severity", SEVERITIES[grade])
    ended = coding(f"{HL7}/adverse-event-outcome", OUTCOMES[outcome], outcome.label)
    return {
        "resourceType": "AdverseEvent",
        "id": refs.id_of("AdverseEvent", event.pk),
        "extension": [
            *remark("Place", event.place),
            *remark("What was done", event.actions),
            *remark("Next check", day(event.next_check_on) or ""),
            *remark("Closed", optional_moment(event.closed_at) or ""),
            # Where nothing is suspected there is no place for it below.
            *([] if suspects else remark("Product as the cause", _cause_text(event))),
        ],
        "actuality": "actual",
        "event": concept(event.signs),
        "subject": refs.patient,
        "encounter": refs.session(event.session_id),
        "date": event.onset_on.isoformat(),
        "recordedDate": moment(event.recorded_at),
        "seriousness": _seriousness(event),
        "severity": concept(grade.label, severity, own_coding("ctcae-grade", grade)),
        "outcome": concept(outcome.label, ended),
        "recorder": refs.person(event.recorded_by_id),
        "contributor": [refs.person(event.closed_by_id)] if event.closed_by_id else [],
        "suspectEntity": [
            {"instance": suspect, "causality": _causality(event)} for suspect in suspects
        ],
    }


def _suspects(event: AdverseEvent, refs: References) -> list[Json]:
    """The points in question and what they gave; else the nearest thing that is known."""
    given = [
        refs.to(
            "Procedure/point"
            if is_device(point.unit.lot.product)
            else "MedicationAdministration/point",
            point.key,
        )
        for point in event.points.all()
    ]
    if event.unit:
        return [refs.unit(event.unit), *given]
    if event.lot:
        return [refs.lot(event.lot), *given]
    if event.product:
        return [refs.product(event.product), *given]
    if given or event.session_id is None:
        return given
    return [refs.treatment(event.session_id)]


def _seriousness(event: AdverseEvent) -> Json | None:
    if not event.seriousness:
        return None
    word = Seriousness(event.seriousness)
    return concept(
        word.label, coding(f"{HL7}/adverse-event-seriousness", SERIOUSNESS[word], word.label)
    )


def _cause_text(event: AdverseEvent) -> str:
    return Causality(event.causality).label if event.causality else ""


def _causality(event: AdverseEvent) -> list[Json]:
    if not event.causality:
        return []
    word = Causality(event.causality)
    code = coding(f"{HL7}/adverse-event-causality-assess", CAUSALITIES[word], word.label)
    return [{"assessment": concept(word.label, code), "method": concept("WHO-UMC")}]
