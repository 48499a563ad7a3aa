"""What the database holds of an assessment, tried by going round the services."""

import uuid

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from planning.assessment import RegionGrade, Scale
from planning.atlas.regions import Region
from records.assessments.models import Assessment, GradedRegion
from tests.factories import make_assessment


@pytest.fixture
def empty(injector, patient):
    """An assessment that still waits for one region."""
    return Assessment.objects.create(
        patient=patient, made_at=timezone.now(), made_by=injector, region_count=1
    )


def refused(act, message: str) -> None:
    with pytest.raises(IntegrityError, match=message), transaction.atomic():
        act()


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"region": "elbow", "left": 1}, "graded_region_is_known"),
        ({"scale": "beauty", "left": 1}, "graded_on_its_scale"),
        ({"left": 5}, "graded_on_its_scale"),
        ({"right": 5}, "graded_on_its_scale"),
        ({"region": "glabella", "scale": "movement", "midline": 4}, "graded_on_its_scale"),
        ({"midline": 1}, "graded_whole_or_by_sides"),
        ({"region": "glabella", "midline": 1, "left": 1}, "graded_whole_or_by_sides"),
        ({}, "graded_or_noted"),
    ],
)
def test_what_cannot_be_a_grade_is_refused(empty, fields, constraint):
    row = {"region": "zygomatic", "scale": "volume", **fields}
    refused(lambda: GradedRegion.objects.create(assessment=empty, **row), constraint)


@pytest.mark.parametrize(
    "fields",
    [
        {"left": 4, "right": 0},
        {"note": "Scar"},
        {"region": "glabella", "scale": "movement", "midline": 3},
    ],
)
def test_what_can_be_a_grade_is_kept(empty, fields):
    row = {"region": "zygomatic", "scale": "volume", **fields}
    GradedRegion.objects.create(assessment=empty, **row)
    [grade] = empty.grades
    assert (grade.left, grade.midline) == (fields.get("left"), fields.get("midline"))


def test_a_region_is_graded_once_on_a_scale(injector, patient):
    two = Assessment.objects.create(
        patient=patient, made_at=timezone.now(), made_by=injector, region_count=2
    )
    GradedRegion.objects.create(assessment=two, region="nasal", scale="volume", left=1)
    refused(
        lambda: GradedRegion.objects.create(assessment=two, region="nasal", scale="volume", left=2),
        "graded_region_once|UNIQUE",
    )


def test_an_assessment_without_regions_has_a_note(injector, patient):
    refused(
        lambda: Assessment.objects.create(
            patient=patient, made_at=timezone.now(), made_by=injector
        ),
        "assessment_says_something",
    )


@pytest.mark.parametrize("rows", [Assessment, GradedRegion])
def test_a_saved_assessment_is_neither_changed_nor_taken_away(injector, patient, rows):
    make_assessment(injector, patient)
    refused(lambda: rows.objects.update(note="other"), "append-only")
    with connection.cursor() as cursor:
        delete = f"DELETE FROM {rows._meta.db_table}"  # noqa: S608 (our own table)
        refused(lambda: cursor.execute(delete), "append-only")


def test_no_region_is_added_to_a_saved_assessment(injector, patient):
    saved = make_assessment(injector, patient)
    refused(
        lambda: GradedRegion.objects.create(
            assessment=saved, region="nasal", scale="volume", left=1
        ),
        "the assessment is saved",
    )


def test_many_regions_are_saved_at_once(injector, patient):
    grades = [RegionGrade(region, Scale.VOLUME, left=1, right=2) for region in Region]
    saved = make_assessment(injector, patient, *grades)
    assert saved.grades == tuple(grades)
    assert saved.region_count == len(Region)


def test_one_key_is_one_assessment(injector, patient):
    key = uuid.uuid4()
    make_assessment(injector, patient, key=key)
    refused(
        lambda: Assessment.objects.create(
            key=key, patient=patient, made_at=timezone.now(), made_by=injector, note="x"
        ),
        "key",
    )
