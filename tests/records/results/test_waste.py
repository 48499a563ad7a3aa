"""Waste from the ledger: by product, by injector, by month and by reason. Sums by hand."""

from datetime import date

from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.waste import WasteFigures
from records.results.enums import WasteBy
from records.results.queries.waste import waste_reasons, waste_series, written_off
from records.usage.enums import GroupBy
from records.usage.queries.period import Period
from records.usage.queries.use import use_of
from tests.records.results.conftest import SPRING

FILLER, TOXIN = "HA filler 1 mL", "Toxin 100 units"
MARCH, APRIL, MAY = date(2026, 3, 1), date(2026, 4, 1), date(2026, 5, 1)


def months(period: Period, by: WasteBy) -> dict[tuple, WasteFigures]:
    """Those of which anything is known."""
    return {
        (one.person, one.product.name, each.month): each.figures
        for one in waste_series(period, by)
        for each in one.months
        if each.figures != WasteFigures()
    }


def test_each_month_of_each_product_by_the_clinic_s_own_clock(clinic):
    assert months(Period(*SPRING), WasteBy.PRODUCT) == {
        ("", FILLER, MARCH): WasteFigures(opened=1, content=1_000, left_over=250, otherwise=50),
        ("", FILLER, APRIL): WasteFigures(opened=1, content=1_000),
        ("", FILLER, MAY): WasteFigures(otherwise=400),
        ("", TOXIN, MAY): WasteFigures(opened=1, content=10_000, left_over=6_000),
    }


def test_by_whoever_recorded_it(clinic):
    found = months(Period(*SPRING), WasteBy.INJECTOR)
    assert {key[:2] for key in found} == {
        ("Ida Injector", FILLER),
        ("Second", FILLER),
        ("Second", TOXIN),
    }
    assert found["Second", FILLER, MAY] == WasteFigures(otherwise=400)


def test_share_is_of_what_was_opened_and_says_nothing_where_nothing_was(clinic):
    """Filler: 0.7 of 2 mL in all; of May nothing is known."""
    filler, toxin = waste_series(Period(*SPRING), WasteBy.PRODUCT)
    assert (filler.share_text, toxin.share_text) == ("35.0\u00a0%", "60.0\u00a0%")
    assert [(each.month, share) for each, share in filler.wasted_months] == [
        (MAY, ""),
        (MARCH, "30.0\u00a0%"),
    ]


def test_volumes_share_a_scale_and_a_toxin_has_its_own(clinic):
    filler, other, toxin = waste_series(Period(*SPRING), WasteBy.INJECTOR)
    assert filler.axis == other.axis
    assert (filler.axis.top, toxin.axis.top) == (400, 6_000)


def test_a_product_of_which_nothing_was_wasted_is_not_drawn(clinic):
    april = Period(date(2026, 4, 1), date(2026, 4, 30))
    assert waste_series(april, WasteBy.PRODUCT) == []


def test_of_one_product_alone(clinic):
    found = waste_series(Period(*SPRING, product_id=clinic.toxin.pk), WasteBy.PRODUCT)
    assert [one.product for one in found] == [clinic.toxin]


def test_the_same_waste_as_the_audit_of_use(clinic):
    period = Period(*SPRING)
    used = {row.product: row.figures.wasted for row in use_of(period, GroupBy.PRODUCT)}
    drawn = {one.product: one.total.wasted for one in waste_series(period, WasteBy.PRODUCT)}
    assert drawn == used == {clinic.filler: 700, clinic.toxin: 6_000}


def test_reasons_and_what_was_written_off_are_told_apart(clinic):
    period = Period(*SPRING)
    assert [(row.reason, row.product.name, row.times, row.amount)
            for row in waste_reasons(period)] == [
        ("Kept too long", FILLER, 1, 400),
        ("Left over at the end of the session", FILLER, 1, 250),
        ("Left over at the end of the session", TOXIN, 1, 6_000),
        ("Spilled", FILLER, 1, 50),
    ]  # fmt: skip
    assert [(row.reason, row.times, row.amount) for row in written_off(period)] == [
        ("Expired", 1, 1_000)
    ]


def test_the_queries_are_few_whatever_there_is(clinic):
    with CaptureQueriesContext(connection) as queries:
        waste_series(Period(*SPRING), WasteBy.INJECTOR)
    assert len(queries) == 4
