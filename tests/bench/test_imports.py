"""The bench of imports at its small scale; the killed worker needs a database outside a test."""

import pytest

from records.imports.models import Import
from records.patients.models import Patient
from tests.bench import imports as bench
from tests.bench.results import FAULTS, MEGABYTES, SECONDS

pytestmark = pytest.mark.django_db


def test_it_takes_files_in_and_undoes_one(monkeypatch):
    monkeypatch.setattr(bench, "FEW", 40)
    monkeypatch.setattr(bench, "MANY", 90)
    monkeypatch.setattr(bench, "_killed", lambda data, owner: (0, 1))
    bench.build(30)
    results = bench.measure()
    assert [result.unit for result in results] == [SECONDS, MEGABYTES] * 6 + [FAULTS, SECONDS]
    assert [taken.state for taken in Import.objects.order_by("pk")] == ["undone", "done"]
    assert Patient.objects.count() == 30 + 90 - 1
