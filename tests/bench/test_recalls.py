"""The bench goes round the services; its case must stand for a real one, and its SQL for ours."""

import pytest

from records.recalls.models import CasePatient, CaseSpan, RecallCase
from records.recalls.queries.extent import extent_of
from records.recalls.queries.people import missing_patients
from tests.bench import recalls as bench

pytestmark = pytest.mark.django_db


@pytest.fixture
def case(monkeypatch) -> RecallCase:
    monkeypatch.setenv("BENCH_SCALE", "small")
    monkeypatch.setattr(bench, "PEOPLE", 40)
    bench.build(8_000)
    return RecallCase.objects.get()


def test_sql_by_hand_finds_the_same_people_in_the_same_order(case):
    ours = bench.whole_list(case)
    assert len(ours) == 40
    assert bench.shape(ours) == bench.list_by_hand(case)
    assert {row.points for row in ours} == {4}
    assert sum(row.tried.is_reached for row in ours) == 6


def test_the_list_is_that_of_the_record(case):
    assert missing_patients(case, extent_of(case)) == []
    case.full_clean(exclude=["opened_by", "list_by", "closed_by", "closing_note"])
    for row in (*CaseSpan.objects.all(), *CasePatient.objects.all()):
        row.full_clean(exclude=["quarantine", "appointment"])
