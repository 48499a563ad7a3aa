"""Adverse events per lot: who counts, and what stands out."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.funnel import Verdict
from records.adverse_events.models import AdverseEvent
from records.patients.models import Patient
from records.usage.queries.events import event_rates
from records.usage.queries.period import Period
from tests.bench import trace as bench
from tests.factories import make_event


def rates_of(period: Period) -> dict[str, tuple[int, int]]:
    return {row.lot.number: (row.events, row.treated) for row in event_rates(period).lots}


def test_patients_of_a_lot_and_those_of_them_with_an_event(clinic, spring, injector):
    make_event(injector, clinic.ann, lot=clinic.a1)
    assert rates_of(Period(*spring)) == {"A1": (1, 1), "A2": (0, 1), "T1": (0, 1)}
    assert event_rates(Period(*spring)).rate == pytest.approx(1 / 3)


def test_a_patient_counts_once_for_a_lot_however_many_events(clinic, spring, injector):
    for _ in range(3):
        make_event(injector, clinic.ann, lot=clinic.a1)
    assert rates_of(Period(*spring))["A1"] == (1, 1)


def test_an_event_without_a_lot_is_counted_for_none(clinic, spring, injector):
    make_event(injector, clinic.ann)
    assert event_rates(Period(*spring)).events == 0


def test_an_event_counts_for_the_days_of_the_treatment_whenever_it_came(clinic, injector):
    make_event(injector, clinic.bea, lot=clinic.t1, onset_on=date(2026, 11, 1))
    assert rates_of(Period(date(2026, 5, 1), date(2026, 5, 31))) == {"T1": (1, 1)}
    assert rates_of(Period(date(2026, 4, 1), date(2026, 4, 30))) == {"A1": (0, 1), "A2": (0, 1)}


def test_an_event_of_somebody_who_never_got_the_lot_is_not_counted(clinic, spring, injector):
    make_event(injector, clinic.bea, lot=clinic.a1)
    assert rates_of(Period(*spring))["A1"] == (0, 1)


def test_one_product_alone(clinic, spring, injector):
    make_event(injector, clinic.ann, lot=clinic.a1)
    assert rates_of(Period(*spring, product_id=clinic.filler.pk)) == {"A1": (1, 1), "A2": (0, 1)}


def test_without_treatments_there_is_no_rate(db, spring):
    rates = event_rates(Period(*spring))
    assert (list(rates.lots), rates.rate, rates.can_be_compared) == ([], 0.0, False)


def test_one_lot_or_no_event_cannot_be_compared(clinic, spring, injector):
    assert not event_rates(Period(*spring)).can_be_compared
    make_event(injector, clinic.bea, lot=clinic.t1)
    assert event_rates(Period(*spring)).can_be_compared
    assert not event_rates(Period(*spring, product_id=clinic.toxin.pk)).can_be_compared


def test_the_lots_outside_come_first_and_the_queries_are_few(clinic, spring, injector):
    with CaptureQueriesContext(connection) as before:
        event_rates(Period(*spring))
    for patient, lot in ((clinic.ann, clinic.a1), (clinic.bea, clinic.t1)):
        make_event(injector, patient, lot=lot)
    with CaptureQueriesContext(connection) as after:
        event_rates(Period(*spring))
    assert len(before) == len(after) == 3


@pytest.fixture
def whole(db, monkeypatch):
    """1,000 sessions of 100 patients with some forty lots, and the period that holds them all."""
    monkeypatch.setenv("BENCH_SCALE", "small")
    bench.build(8_000, [200])
    return Period(date(2015, 1, 1), date(2027, 1, 1))


def test_a_cluster_stands_out_and_a_chance_pair_does_not(whole, owner):
    lots = [row.lot for row in event_rates(whole).lots if row.treated > 20]
    cluster, pair, *single = lots[:8]
    for lot, number in [(cluster, 6), (pair, 2), *((lot, 1) for lot in single)]:
        patients = Patient.objects.filter(sessions__points__unit__lot=lot).distinct()
        AdverseEvent.objects.bulk_create(
            AdverseEvent(
                patient=patient, lot=lot, onset_on=date(2026, 1, 1), grade="1", signs="A lump",
                recorded_at=whole.moments[0] + timedelta(days=1), recorded_by=owner,
            )
            for patient in patients.order_by("id")[:number]
        )  # fmt: skip

    rates = event_rates(whole)
    found = {row.lot: row.judgement.verdict for row in rates.lots}
    assert found[cluster] is Verdict.BEYOND_998
    assert found[pair] is not Verdict.BEYOND_998
    assert {found[lot] for lot in single} == {Verdict.INSIDE}
    assert rates.lots[0].lot == cluster
    assert "so many by chance" in rates.lots[0].chance_text
    assert rates.events == 6 + 2 + len(single)
    assert cluster.number in {label.text for label in rates.plot.labels}
