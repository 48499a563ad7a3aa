"""What must hold however large the clinic is: the index, the answer, the memory."""

import re
import tracemalloc
from itertools import islice

import pytest
from django.db import connection
from django.db.models import F, Sum

from clinic.stock.models import UnitOfStock
from records.sessions.models import InjectionEntry
from records.trace.exports import trace_as_csv
from records.trace.queries import trace_rows, traced_points
from tests.bench import trace as bench


@pytest.fixture
def clinic_of(db, monkeypatch):
    """`clinic_of(20_000, [100, 40])`: so many points, and lots L1, L2 that reach so many."""

    monkeypatch.setenv("BENCH_SCALE", "small")

    def build(points: int, answers: list[int]) -> None:
        bench.build(points, answers)

    return build


def lot_numbered(number: str):
    return UnitOfStock.objects.select_related("lot__product").filter(lot__number=number)[0].lot


def plan_of(queryset) -> str:
    """How the database means to answer, one step a line."""
    statement, parameters = queryset.query.sql_with_params()
    word = {"sqlite": "EXPLAIN QUERY PLAN", "postgresql": "EXPLAIN"}[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(f"{word} {statement}", parameters)
        return "\n".join(str(row[-1]) for row in cursor.fetchall())


def test_trace_goes_by_the_index_of_the_unit(clinic_of):
    clinic_of(20_000, [100])
    plan = plan_of(traced_points(lot_numbered("L1")))

    whole_table = {
        "sqlite": ["SCAN records_injectionentry", "SCAN clinic_unitofstock"],
        "postgresql": ["Seq Scan on records_injectionentry", "Seq Scan on clinic_unitofstock"],
    }
    for step in whole_table[connection.vendor]:
        assert step not in plan, plan
    by_unit = r"INDEX (point_by_unit|records_injectionentry_unit_id_\w+)"
    assert re.search(by_unit, plan.replace("Index Scan using", "INDEX")), plan


def test_bulk_made_clinic_obeys_the_rules_and_answers_as_sql_by_hand(clinic_of):
    clinic_of(8_000, [400, 80])
    off = (
        InjectionEntry.objects.values("unit_id")
        .annotate(given=Sum("amount"))
        .exclude(given=F("unit__drawn"))
    )
    assert list(off) == []
    lot = lot_numbered("L2")
    traced = list(trace_rows(lot))
    assert len(traced) == 80
    assert traced == bench.trace_by_hand(lot)


def test_streaming_30_000_points_takes_no_more_memory_than_5_000(clinic_of):
    clinic_of(30_000, [30_000])
    lot = lot_numbered("L1")
    tracemalloc.start()
    try:
        lines = trace_as_csv(lot, trace_rows(lot))
        start = sum(1 for _ in islice(lines, 5_001))
        peak_at_start = tracemalloc.get_traced_memory()[1]
        rest = sum(1 for _ in lines)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()

    assert start + rest == 30_001  # the header
    assert peak < 1.5 * peak_at_start
    assert peak < 4_000_000  # bytes; all rows at once are 22 MB
