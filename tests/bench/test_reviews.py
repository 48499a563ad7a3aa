"""The bench goes round the services; its clinic must stand for a real one, and its SQL for ours."""

import pytest

from records.reviews.enums import Standing
from records.reviews.models import Review
from tests.bench import reviews as bench

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic(monkeypatch):
    monkeypatch.setenv("BENCH_SCALE", "small")
    bench.build(20_000)


def test_sql_by_hand_finds_the_same_reviews_in_the_same_order(clinic):
    ours = bench.first_rows()
    assert len(ours) == bench.SHOWN
    assert [row[:4] for row in ours] == [row[:4] for row in bench.rows_by_hand()]


def test_one_review_in_two_hundred_is_open_and_most_due_ones_are_overdue(clinic):
    assert Review.objects.still_open().count() == 100
    counts = bench.WORK.counts()
    assert counts[Standing.OVERDUE] > counts[Standing.DUE]
    assert sum(counts.values()) == bench.WORK.count()
    for review in Review.objects.order_by("pk")[:20_000:999]:
        review.full_clean(exclude=["appointment", "closed_at", "closed_by"])
