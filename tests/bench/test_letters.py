"""The bench of letters at its small scale: it writes what a mailing writes."""

import pytest

from records.mailings.models import LetterBatch, Mailing
from tests.bench import letters as bench
from tests.bench.results import MEGABYTES, RATIO, SECONDS

pytestmark = pytest.mark.django_db


def test_it_writes_both_mailings_and_measures_them(monkeypatch):
    monkeypatch.setattr(bench, "COMPARED", 1)
    bench.build(8)
    results = bench.measure()
    assert [result.unit for result in results] == [
        RATIO, SECONDS, MEGABYTES, RATIO, MEGABYTES
    ]  # fmt: skip
    assert all(result.highest >= 0 for result in results)
    less, more, compared = Mailing.objects.order_by("pk")
    assert [less.items.count(), more.items.count(), compared.items.count()] == [2, 8, 8]
    for mailing in (less, more, compared):
        assert mailing.finished_at is not None
    assert LetterBatch.objects.count() == 3
