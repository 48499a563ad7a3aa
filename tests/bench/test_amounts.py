"""The bench goes round the services; its SQL by hand must give what the page of amounts shows."""

import pytest

from records.patients.models import Patient
from records.results.queries.amounts import amounts_of
from tests.bench import amounts as bench

pytestmark = pytest.mark.django_db


def test_sql_by_hand_finds_the_same_sums(monkeypatch):
    monkeypatch.setenv("BENCH_SCALE", "small")
    bench.build(2_000)
    patient = Patient.objects.get()
    assert patient.sessions.count() == 250
    ours = {(row.session, row.region, row.side.value): row.amount for row in amounts_of(patient)}
    by_hand = {
        (session, region, side): total
        for session, _, _, region, side, total in bench.sums_by_hand(patient)
    }
    assert ours == by_hand
    assert sum(ours.values()) == 2_000 * 250
