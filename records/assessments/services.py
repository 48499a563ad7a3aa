"""Writing down an assessment."""

import uuid
from collections.abc import Sequence

from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.services import acting
from planning.assessment import RegionGrade
from records.assessments.errors import AssessmentError, NothingAssessed
from records.assessments.models import Assessment, GradedRegion
from records.patients.models import Patient


def record_assessment(
    *, patient: Patient, grades: Sequence[RegionGrade], note: str, key: uuid.UUID, actor
) -> Assessment:
    """
    Keep what was seen today; it is never changed afterwards.

    Args:
        grades: each region and scale once.
        key: made with the page; a page that is sent again gives the assessment it gave before.

    Raises:
        NothingAssessed: neither a grade nor a note.
        AssessmentError: the page was another patient's, or somebody else sent it.
    """
    note = note.strip()
    if not grades and not note:
        raise NothingAssessed("Grade at least one region, or write a note.")
    try:
        return _record(patient, grades, note, key, actor)
    except IntegrityError as error:
        sent_before = Assessment.objects.filter(key=key).first()
        if sent_before is None:
            raise
        if (sent_before.patient_id, sent_before.made_by_id) != (patient.pk, actor.pk):
            raise AssessmentError(
                "This page was sent once before, for somebody else. Open it anew from the record."
            ) from error
        return sent_before


def _record(
    patient: Patient, grades: Sequence[RegionGrade], note: str, key: uuid.UUID, actor
) -> Assessment:
    with acting(actor) as trail:
        assessment = Assessment.objects.create(
            key=key,
            patient=patient,
            made_at=timezone.now(),
            made_by=actor,
            note=note,
            region_count=len(grades),
        )
        GradedRegion.objects.bulk_create(
            GradedRegion(
                assessment=assessment,
                region=row.region,
                scale=row.scale,
                left=row.left,
                right=row.right,
                midline=row.midline,
                note=row.note,
            )
            for row in grades
        )
        after = {"grades": [_in_words(row) for row in grades], "note": note}
        trail.add("assessment.recorded", assessment, patient_id=patient.pk, after=after)
    return assessment


def _in_words(row: RegionGrade) -> str:
    """For the trail: "Zygomatic region, loss of volume: right 2, left 3"."""
    graded = ", ".join(f"{side.label.lower()} {grade}" for side, grade in row.by_side)
    said = "; ".join(part for part in (graded, row.note) if part)
    return f"{row.region.label}, {row.scale.label.lower()}: {said}"
