"""
What was seen and said: Observation, of assessments, reviews, the day after, and occlusion logs.

Grades keep the scale they were given on, by name: a number without its scale reads the wrong way.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from typing import Any

from planning.assessment import Scale
from planning.atlas.regions import Region
from planning.occlusion import Entry
from planning.outcomes import Rater
from planning.vocabulary import Side
from records.aftercare.models import CheckInAnswer
from records.assessments.models import Assessment, GradedRegion
from records.interchange.parts import (
    BASE,
    Json,
    coding,
    concept,
    measured,
    moment,
    named,
    notes,
    own_coding,
    own_concept,
    place_concept,
    remark,
    uuid_identifier,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References
from records.occlusions.models import OcclusionEntry
from records.occlusions.queries import log_of, words_of
from records.outcomes.models import RegionRating, ReviewRecord
from records.reviews.models import Review
from records.sessions.models import TreatmentSession


def findings(record: PatientRecord, refs: References) -> Iterator[Json]:
    yield from _weight(record, refs)
    for assessment in record.assessments:
        yield from _assessment(assessment, refs)
    for review in record.reviews:
        yield from _review(review, refs)
    for answer in record.check_ins:
        yield _check_in(answer, refs)
    for session in record.sessions:
        yield from _occlusions(session, refs)


def _observation(
    source: str, key: object, code: Json, refs: References, at: datetime | None, **fields: Any
) -> Json:
    return {
        "resourceType": "Observation",
        "id": refs.id_of(f"Observation/{source}", key),
        "status": "final",
        "code": code,
        "subject": refs.patient,
        "effectiveDateTime": moment(at) if at else None,
        **fields,
    }


def _weight(record: PatientRecord, refs: References) -> Iterator[Json]:
    """
    Without the code of a vital sign, which R4B ties to a day: the record holds the latest weight
    and not when it was taken.
    """
    grams = record.patient.weight_g
    if grams:
        yield _observation(
            "weight", record.patient.record_number,
            named("finding", "weight", "Body weight on record, day not known"), refs, None,
            valueQuantity=measured(Decimal(grams).scaleb(-3).normalize(), "kg"),
        )  # fmt: skip


def _assessment(assessment: Assessment, refs: References) -> Iterator[Json]:
    shared = {
        "identifier": [uuid_identifier(assessment.key)],
        "performer": [refs.person(assessment.made_by_id)],
    }
    if assessment.note:
        code = named("finding", "assessment-note", "Note of an assessment")
        yield _observation(
            "assessment-note", assessment.pk, code, refs, assessment.made_at,
            valueString=assessment.note, **shared,
        )  # fmt: skip
    for row in assessment.regions.all():
        yield _observation(
            "assessment", f"{assessment.pk}/{row.region}/{row.scale}",
            own_concept("scale", Scale(row.scale)), refs, assessment.made_at,
            bodySite=place_concept(row.region, ""),
            note=[*notes(("Note", row.note)), *notes(("Scale", str(Scale(row.scale).source)))],
            component=list(_sides(row)),
            **shared,
        )  # fmt: skip


def _sides(row: GradedRegion) -> Iterator[Json]:
    scale = Scale(row.scale)
    for side in Side:
        grade = getattr(row, side.value)
        if grade is not None:
            code = f"{scale.value}-{grade}"
            words = coding(f"{BASE}/CodeSystem/grade", code, scale.word(grade))
            yield {
                "code": own_concept("side", side),
                "valueCodeableConcept": concept(scale.word(grade), words),
            }


def _review(review: Review, refs: References) -> Iterator[Json]:
    """The last record of a review holds; an earlier one was written again, and is told as such."""
    records = sorted(review.records.all(), key=lambda row: row.pk)
    for number, row in enumerate(records):
        if row is not records[-1]:
            status = "entered-in-error"
        else:
            status = "corrected" if number else "final"
        yield from _review_record(row, review, status, refs)


def _review_record(
    row: ReviewRecord, review: Review, status: str, refs: References
) -> Iterator[Json]:
    shared: Json = {
        "status": status,
        "effectiveDateTime": row.seen_on.isoformat(),
        "issued": moment(row.made_at),
        "partOf": [refs.treatment(review.session_id)],
    }
    injector = [refs.person(row.made_by_id)]
    yield _observation(
        "review", row.key, named("finding", "review", "What was seen at a review"), refs, None,
        **shared,
        identifier=[uuid_identifier(row.key)],
        performer=injector,
        valueString=row.seen,
        note=notes(
            ("Written again because", row.why_again),
            ("Adverse event", "yes" if row.has_event else "no"),
            ("Decided", row.get_top_up_display()),
            ("Patient’s own answers", row.get_patient_answer_display()),
        ),
    )  # fmt: skip
    if row.satisfaction is not None:
        code = named("finding", "satisfaction", "Satisfaction, 0 not at all to 10 fully")
        yield _observation(
            "satisfaction", row.key, code, refs, None, **shared,
            performer=[refs.patient], valueInteger=row.satisfaction,
        )  # fmt: skip
    for rating in row.ratings.all():
        yield _rating(rating, injector, shared, refs)


def _rating(
    rating: RegionRating, injector: list[Json | None], shared: Json, refs: References
) -> Json:
    by_patient = rating.rater == Rater.PATIENT
    code = coding(f"{BASE}/CodeSystem/{rating.scheme}", str(rating.grade), rating.label)
    return _observation(
        "rating", rating.pk, concept(rating.get_scheme_display()), refs, None, **shared,
        performer=[refs.patient] if by_patient else injector,
        bodySite=place_concept(Region(rating.region), ""),
        valueCodeableConcept=concept(rating.words, code),
    )  # fmt: skip


def _check_in(answer: CheckInAnswer, refs: References) -> Json:
    session_id = answer.check_in.session_id
    return _observation(
        "check-in", answer.pk, named("finding", "check-in", "How the patient is after a treatment"),
        refs, answer.at,
        encounter=refs.session(session_id),
        partOf=[refs.treatment(session_id)],
        performer=[refs.patient],
        valueString=answer.get_feeling_display(),
        note=notes(("Patient", answer.note), ("What was done", answer.done)),
        component=[
            {"code": named("finding", "sign", "Sign"), "valueString": label}
            for label in answer.sign_labels
        ],
    )  # fmt: skip


def _occlusions(session: TreatmentSession, refs: References) -> Iterator[Json]:
    """Every line of a log but the doses, which are medicines. One put aside was a mistake."""
    for occlusion in session.occlusions.all():
        log = log_of(occlusion)
        status = "entered-in-error" if log.is_discarded else "final"
        for entry in log.entries:
            if entry.what != Entry.DOSE:
                yield _line(entry, session, status, refs)


def _line(entry: OcclusionEntry, session: TreatmentSession, status: str, refs: References) -> Json:
    what = Entry(entry.what)
    code = concept(f"Occlusion log: {what.label}", own_coding("occlusion-line", what))
    return _observation(
        "occlusion", entry.key, code, refs, entry.moment or entry.at,
        status=status,
        extension=remark("Written down at", moment(entry.at)),
        identifier=[uuid_identifier(entry.key)],
        encounter=refs.session(session.pk),
        partOf=[refs.treatment(session.pk)],
        performer=[refs.person(entry.by_id)],
        bodySite=place_concept(entry.region, entry.side),
        **_value(entry),
    )  # fmt: skip


def _value(entry: OcclusionEntry) -> Json:
    if entry.refill_tenths is not None:
        seconds = measured(Decimal(entry.refill_tenths).scaleb(-1), "s")
        return {"valueQuantity": seconds, "note": notes(("In words", words_of(entry)))}
    if entry.pain is not None:
        return {"valueInteger": entry.pain, "note": notes(("Of", "10"))}
    return {"valueString": words_of(entry) or entry.get_what_display()}
