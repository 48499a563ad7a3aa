"""Writing down an assessment, and what the lists say of it."""

import uuid
from datetime import UTC, datetime

import pytest
import time_machine

from clinic.audit.models import AuditEvent
from planning.assessment import RegionGrade, Scale
from planning.atlas.regions import Region
from planning.vocabulary import Side
from records.assessments.errors import AssessmentError, NothingAssessed
from records.assessments.models import Assessment
from records.assessments.queries import (
    assessment_needs,
    latest_assessment,
    patient_assessments,
    previous_assessment,
)
from records.assessments.services import record_assessment
from tests.factories import make_assessment, make_patient


def cheek(**grades) -> RegionGrade:
    return RegionGrade(Region.ZYGOMATIC, Scale.VOLUME, **grades)


@pytest.fixture
def twice(injector, patient):
    """Cheeks 2 and 3 in March, 2 and 1 in June."""
    with time_machine.travel(datetime(2026, 3, 2, 9, tzinfo=UTC), tick=False):
        first = make_assessment(injector, patient, cheek(right=2, left=3))
    with time_machine.travel(datetime(2026, 6, 2, 9, tzinfo=UTC), tick=False):
        second = make_assessment(injector, patient, cheek(right=2, left=1))
    return first, second


def test_an_assessment_says_who_saw_what_and_when(injector, patient):
    moment = datetime(2026, 3, 2, 9, tzinfo=UTC)
    with time_machine.travel(moment, tick=False):
        saved = make_assessment(injector, patient, cheek(right=2, left=3), note=" Tired ")
    assert (saved.made_at, saved.made_by, saved.note) == (moment, injector, "Tired")
    event = AuditEvent.objects.get(action="assessment.recorded")
    assert event.patient_id == patient.pk
    assert "Zygomatic region, loss of volume: right 2, left 3" in event.data


def test_a_note_alone_is_enough_and_nothing_at_all_is_not(injector, patient):
    assert make_assessment(injector, patient, note="Scar").region_count == 1
    with pytest.raises(NothingAssessed, match="Grade at least one region"):
        make_nothing(injector, patient, "  ")
    assert make_nothing(injector, patient, "Only talked").region_count == 0


def make_nothing(injector, patient, note: str) -> Assessment:
    return record_assessment(
        patient=patient, grades=[], note=note, key=uuid.uuid4(), actor=injector
    )


def test_a_page_sent_twice_is_kept_once(injector, patient):
    key = uuid.uuid4()
    first = make_assessment(injector, patient, key=key)
    assert make_assessment(injector, patient, key=key) == first
    assert Assessment.objects.count() == 1
    assert AuditEvent.objects.filter(action="assessment.recorded").count() == 1


def test_a_key_of_another_patient_is_no_assessment_of_this_one(injector, desk, patient):
    key = uuid.uuid4()
    make_assessment(injector, patient, key=key)
    with pytest.raises(AssessmentError, match="for somebody else"):
        make_assessment(injector, make_patient(desk, "Bea"), key=key)


def test_the_latest_one_holds(twice, patient, desk):
    first, second = twice
    assert latest_assessment(patient) == second
    assert previous_assessment(second) == first
    assert previous_assessment(first) is None
    assert latest_assessment(make_patient(desk, "Bea")) is None


def test_what_there_is_to_treat_comes_worst_first(twice):
    first, _ = twice
    assert [(need.side, need.grade) for need in assessment_needs(first)] == [
        (Side.LEFT, 3), (Side.RIGHT, 2),
    ]  # fmt: skip


def test_the_list_counts_what_changed_in_two_queries(twice, patient, django_assert_num_queries):
    with django_assert_num_queries(2):
        rows = patient_assessments(patient)
    assert [(row.has_previous, row.better, row.worse) for row in rows] == [
        (True, 1, 0), (False, 0, 0),
    ]  # fmt: skip
