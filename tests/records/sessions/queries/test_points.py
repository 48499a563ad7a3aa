"""Points and totals as page and note read them."""

import pytest

from planning.vocabulary import Measure
from records.sessions.queries.points import session_points, session_totals
from records.sessions.services.points import remove_point
from records.sessions.services.tray import put_on_tray
from tests.factories import make_point, make_product, make_session_with_unit, make_units


@pytest.fixture
def units(owner):
    return make_units(owner, make_product(), quantity=2)


@pytest.fixture
def session(injector, patient, units):
    return make_session_with_unit(injector, patient, units[0])


def test_totals_per_unit_product_region_and_side(session, units, injector):
    put_on_tray(session=session, unit=units[1], actor=injector)
    make_point(session, units[0], amount=200, x_dmm=480)
    make_point(session, units[0], amount=150, x_dmm=-480)
    make_point(session, units[1], amount=100, x_dmm=0, y_dmm=1000)
    totals = session_totals(session_points(session))
    assert [(row.unit_key, row.amount) for row in totals.per_unit] == [
        (units[0].pk, 350),
        (units[1].pk, 100),
    ]
    assert [(row.amount, row.points, row.measure) for row in totals.per_product] == [
        (450, 3, Measure.VOLUME)
    ]
    shares = [(row.region, row.left, row.right, row.midline) for row in totals.per_region_side]
    assert shares == [("zygomatic", 200, 150, 0), ("mental", 0, 0, 100)]


def test_removed_points_do_not_count(session, units, injector):
    remove_point(point=make_point(session, units[0]), actor=injector)
    assert session_totals(session_points(session)).per_product == ()


@pytest.mark.parametrize("count", [1, 3])
def test_points_with_product_and_lot_are_one_query(
    session, units, django_assert_num_queries, count
):
    for _ in range(count):
        make_point(session, units[0], amount=10)
    with django_assert_num_queries(1):
        texts = [
            f"{point.number} {point.unit.lot.product} {point.unit.lot.number} {point.measure} "
            f"{point.region_label} {point.instrument_text} {point.plain_amount}"
            for point in session_points(session)
        ]
    assert len(texts) == count
    assert texts[0] == ("1 HA filler 1 mL LOT42 volume Zygomatic region Needle 27 G, 13 mm 0.01")


@pytest.mark.parametrize(
    ("gauge", "length", "text"),
    [(None, None, "Needle"), (27, None, "Needle 27 G"), (None, 13, "Needle, 13 mm")],
)
def test_instrument_is_told_as_far_as_it_was_noted(session, units, gauge, length, text):
    point = make_point(session, units[0], gauge=gauge, length_mm=length)
    assert point.instrument_text == text
