"""What was used in a period, added up in four ways."""

from collections import defaultdict
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planning.vocabulary import ProductKind
from records.sessions.services.points import remove_point
from records.usage.enums import GroupBy
from records.usage.queries.period import Period
from records.usage.queries.use import Figures, totals_of, use_of
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
    make_user,
)


def used(period: Period, by: GroupBy) -> dict[tuple[str, str], Figures]:
    return {(row.group, row.label): row.figures for row in use_of(period, by)}


def totals(period: Period, by: GroupBy = GroupBy.PRODUCT) -> tuple[int, int, int]:
    return totals_of(period, use_of(period, by))


FILLER, TOXIN = "HA filler 1 mL", "Toxin 100 units"


def test_by_product(clinic, spring):
    assert used(Period(*spring), GroupBy.PRODUCT) == {
        ("", FILLER): Figures(opened=2, patients=2, points=4, given=1_000, wasted=50),
        ("", TOXIN): Figures(opened=1, patients=1, points=1, given=2_500, wasted=500),
    }


def test_by_lot(clinic, spring):
    assert used(Period(*spring), GroupBy.LOT) == {
        (FILLER, "A1"): Figures(opened=1, patients=1, points=3, given=600, wasted=50),
        (FILLER, "A2"): Figures(opened=1, patients=1, points=1, given=400),
        (TOXIN, "T1"): Figures(opened=1, patients=1, points=1, given=2_500, wasted=500),
    }


def test_by_injector_each_product_apart(clinic, spring):
    assert used(Period(*spring), GroupBy.INJECTOR) == {
        ("Ida Injector", FILLER): Figures(opened=1, patients=1, points=3, given=600, wasted=50),
        ("Second", FILLER): Figures(opened=1, patients=1, points=1, given=400),
        ("Second", TOXIN): Figures(opened=1, patients=1, points=1, given=2_500, wasted=500),
    }


def test_by_month_of_the_clinic_s_own_calendar_the_latest_first(clinic, spring):
    by_month = used(Period(*spring), GroupBy.MONTH)
    assert by_month == {
        ("May 2026", TOXIN): Figures(opened=1, patients=1, points=1, given=2_500, wasted=500),
        ("April 2026", FILLER): Figures(opened=1, patients=2, points=2, given=500),
        ("March 2026", FILLER): Figures(opened=1, patients=1, points=2, given=500, wasted=50),
    }
    assert [month for month, _ in by_month] == ["May 2026", "April 2026", "March 2026"]


def test_altogether_a_patient_counts_once(clinic, spring):
    for by in GroupBy:
        assert totals(Period(*spring), by) == (3, 2, 5)


def test_the_ends_of_the_period_are_both_inside(clinic):
    on_the_day = Period(date(2026, 3, 10), date(2026, 3, 10))
    assert totals(on_the_day) == (1, 1, 2)
    assert totals(Period(date(2026, 3, 11), date(2026, 4, 9))) == (0, 0, 0)
    assert use_of(Period(date(2026, 3, 11), date(2026, 4, 9)), GroupBy.MONTH) == []


def test_one_product_alone(clinic, spring):
    period = Period(*spring, product_id=clinic.toxin.pk)
    for by in GroupBy:
        assert {row.product for row in use_of(period, by)} == {clinic.toxin}
    assert totals(period) == (1, 1, 1)


def test_a_removed_point_was_not_given(clinic, spring, treat, injector):
    (unit,) = make_units(injector, clinic.filler, number="A3", quantity=1)
    session = make_session_with_unit(injector, clinic.ann, unit)
    point = make_point(session, unit, amount=70)
    make_point(session, unit, amount=30)
    remove_point(point=point, actor=injector)
    today = timezone.localdate()
    assert used(Period(today, today), GroupBy.LOT) == {
        (FILLER, "A3"): Figures(opened=1, patients=1, points=1, given=30)
    }


def test_the_same_queries_whatever_the_clinic_holds(clinic, spring):
    for by, most in [(GroupBy.PRODUCT, 4), (GroupBy.LOT, 4), (GroupBy.INJECTOR, 5),
                     (GroupBy.MONTH, 4)]:  # fmt: skip
        counts = []
        for period in (Period(date(2026, 3, 10), date(2026, 3, 10)), Period(*spring)):
            with CaptureQueriesContext(connection) as queries:
                use_of(period, by)
            counts.append(len(queries))
        assert counts[0] == counts[1] <= most


acts = st.lists(
    st.tuples(
        st.integers(0, 2),  # who is treated
        st.integers(0, 1),  # by whom
        st.integers(0, 2),  # with which lot
        st.integers(0, 120),  # days after 1 January
        st.lists(st.integers(1, 90), min_size=1, max_size=3),
        st.integers(0, 40),
    ),
    max_size=5,
)


@pytest.mark.django_db
@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(acts=acts, first=st.integers(0, 60), days=st.integers(0, 90))
def test_every_way_to_add_up_gives_the_same_sums(acts, first, days, treat, rolled_back):
    """Opened units, points and, within a product, what was given and wasted."""
    with rolled_back():
        owner = make_user("owner")
        people = [make_user(name, is_injector=True) for name in ("ida", "second")]
        patients = [make_patient(owner, f"Patient{number}") for number in range(3)]
        lots = _lots(owner)
        for patient, by, lot, day, amounts, wasted in acts:
            at = datetime(2026, 1, 1, 23, 45, tzinfo=UTC) + timedelta(days=day)
            treat(patients[patient], people[by], at, lots[lot].pop(), *amounts, wasted=wasted)
        period = Period(
            date(2026, 1, 1) + timedelta(days=first),
            date(2026, 1, 1) + timedelta(days=first + days),
        )
        sums = [_sums(period, by) for by in GroupBy]
        assert all(each == sums[0] for each in sums)
        opened, points = (sum(each[name] for each in sums[0].values()) for name in _COUNTS)
        assert totals(period)[::2] == (opened, points)
        inside = [row for row in _by_hand(acts) if period.first <= row[0] <= period.last]
        assert points == sum(len(amounts) for _, amounts, _ in inside)
        given_in_all = sum(each["given"] for each in sums[0].values())
        assert given_in_all == sum(sum(amounts) for _, amounts, _ in inside)
        wasted_in_all = sum(each["wasted"] for each in sums[0].values())
        assert wasted_in_all == sum(wasted for _, _, wasted in inside)


_COUNTS = ("opened", "points")


def _lots(owner) -> list[list]:
    filler, toxin = (
        make_product("Filler"),
        make_product("Toxin", kind=ProductKind.TOXIN, content=10_000, lidocaine_ug_per_ml=0),
    )
    return [
        make_units(owner, product, number=number, quantity=6)
        for product, number in ((filler, "A1"), (filler, "A2"), (toxin, "T1"))
    ]


def _sums(period: Period, by: GroupBy) -> dict[str, dict[str, int]]:
    """By product, what the lines add up to."""
    sums: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for row in use_of(period, by):
        for name in (*_COUNTS, "given", "wasted"):
            sums[row.product.name][name] += getattr(row.figures, name)
    return sums


def _by_hand(acts) -> list[tuple[date, list[int], int]]:
    """Day by the clinic's clock, amounts, waste. 23:45 UTC is the next day in summer time."""
    rows = []
    for _, _, _, day, amounts, wasted in acts:
        on = date(2026, 1, 1) + timedelta(days=day)
        summer = on >= date(2026, 3, 29)
        rows.append((on + timedelta(days=summer), amounts, wasted))
    return rows
