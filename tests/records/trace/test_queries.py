import pytest

from clinic.database import streaming
from clinic.stock.enums import MovementKind
from clinic.stock.models import UnitOfStock
from clinic.stock.queries import lot_stock
from clinic.stock.services import take_out_of_stock
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.services.points import remove_point
from records.sessions.services.tray import put_on_tray, record_waste
from records.trace.errors import LotAmbiguous, LotNotFound
from records.trace.queries import (
    find_lot,
    trace_rows,
    trace_summary,
    units_still_here,
)
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    refreshed,
)  # fmt: skip


def given(lot) -> list[tuple[str, int]]:
    return [(row.patient_name, row.amount) for row in trace_rows(lot)]


def test_trace_holds_every_point_in_the_order_of_treatment(lot):
    assert given(lot) == [("Ann Example", 200), ("Ann Example", 300), ("Bea Example", 500)]


def test_a_point_of_another_lot_is_not_in_the_trace(lot, injector, owner, desk):
    other = make_units(owner, make_product("HA filler soft"), number="OTHER")[0]
    session = make_session_with_unit(injector, make_patient(desk, "Cy Example"), other)
    make_point(session, other)

    assert len(given(lot)) == 3
    assert given(other.lot) == [("Cy Example", 200)]


def test_two_products_that_share_a_lot_number_are_never_merged(lot, namesake):
    assert given(namesake) == []
    assert len(given(lot)) == 3
    assert lot_stock(namesake).received == 3
    assert lot_stock(lot).received == 4


def test_removed_point_is_not_in_the_trace(lot, injector):
    point = InjectionEntry.objects.get(amount=300)
    remove_point(point=point, actor=injector)

    assert given(lot) == [("Ann Example", 200), ("Bea Example", 500)]
    assert trace_summary(lot) == (2, 2, 2, 700)


def test_summary_counts_people_not_points(lot):
    summary = trace_summary(lot)
    assert (summary.patients, summary.sessions, summary.points) == (2, 2, 3)
    assert summary.amount == 1_000


def test_shared_vial_leads_to_both_patients(namesake, desk, injector):
    vial = namesake.units.first()
    for name, dose in [("Ann Second", 400), ("Bea Second", 250)]:
        session = make_session(injector, make_patient(desk, name))
        put_on_tray(session=session, unit=vial, actor=injector, diluent_ul=2500)
        make_point(session, vial, amount=dose, plane="submuscular")

    rows = list(trace_rows(namesake))
    assert [(row.patient_name, row.amount) for row in rows] == [
        ("Ann Second", 400),
        ("Bea Second", 250),
    ]
    assert {row.unit_label for row in rows} == {vial.label}


def test_lot_audit_example(desk, injector, owner):
    """
    Source: record-keeping reference, section 4, lot audit test, worked by hand: 3 patients, 5
    points of 0.2, 0.3, 0.5, 0.1 and 0.4 mL from 6 units of 1 mL; 0.5 mL wasted, 2 units returned;
    remaining 6 - 1.5 - 0.5 - 2 = 2 mL.
    """
    units = make_units(owner, make_product(), number="L1", quantity=6)
    used = [("Ann Example", [200, 300]), ("Bea Example", [500]), ("Cy Example", [100, 400])]
    for unit, (name, amounts) in zip(units, used, strict=False):
        session = make_session_with_unit(injector, make_patient(desk, name), unit)
        for amount in amounts:
            make_point(session, unit, amount=amount)
        if name == "Bea Example":
            record_waste(session=session, unit=unit, amount=500, reason="Dropped", actor=injector)
    for unit in units[4:]:
        take_out_of_stock(unit=unit, kind=MovementKind.RETURNED, reason="Recall", actor=owner)

    lot = units[0].lot
    assert trace_summary(lot) == (3, 3, 5, 1_500)
    stock = lot_stock(lot)
    assert (stock.received, stock.on_hand, stock.opened, stock.returned) == (6, 1, 3, 2)
    assert stock.wasted == 500
    assert sum(unit.remaining for unit in units_still_here(lot)) == 2_000


def test_units_still_here_are_those_one_could_inject_from(lot):
    empty = lot.units.get(points__amount=500)
    session = empty.points.get().session
    make_point(session, empty, amount=500)

    states = [(unit.label, unit.state, unit.remaining) for unit in units_still_here(lot)]
    labels = list(lot.units.order_by("id").values_list("label", flat=True))
    assert states == [(labels[2], "in_stock", 1_000), (labels[0], "opened", 500)]
    assert refreshed(empty).is_empty


def test_unknown_lot_is_named_with_what_to_do(lot):
    with pytest.raises(
        LotNotFound, match=r"No lot LOT43 is on record\. Compare the number with the box"
    ):
        find_lot("LOT43")


@pytest.mark.parametrize("typed", ["lot42", "LOT042", "LOT42 ", "L0T42"])
def test_a_number_that_only_looks_alike_is_another_lot(lot, typed):
    """Source: GS1 General Specifications 3.4.1: case, zeros and letters are part of the number."""
    with pytest.raises(LotNotFound):
        find_lot(typed)


def test_number_of_two_products_asks_for_the_gtin_and_names_both(lot, namesake):
    with pytest.raises(LotAmbiguous) as problem:
        find_lot("LOT42")
    for gtin in ("09521234543213", "09520000000004"):
        assert gtin in str(problem.value)


def test_gtin_chooses_between_two_products(lot, namesake):
    assert find_lot("LOT42", "09521234543213") == lot
    assert find_lot("LOT42", "09520000000004") == namesake
    with pytest.raises(LotNotFound, match="of GTIN 09520000000011"):
        find_lot("LOT42", "09520000000011")


def test_time_of_treatment_is_the_stored_one_and_knows_its_zone(lot):
    stored = list(TreatmentSession.objects.order_by("id").values_list("started_at", flat=True))
    treated = [row.treated_at for row in trace_rows(lot)]
    assert treated == [stored[0], stored[0], stored[1]]
    assert all(moment.utcoffset() is not None for moment in treated)


def test_one_query_whatever_the_size(
    lot, points_of_one_patient, django_assert_max_num_queries, monkeypatch
):
    """A stream of PostgreSQL passes by the log of statements, so it is counted where it starts."""
    started, rows_of = [], streaming._rows
    monkeypatch.setattr(streaming, "_rows", lambda *args: started.append(args) or rows_of(*args))
    many = points_of_one_patient(20)
    for one, expected in [(lot, 3), (many, 20)]:
        started.clear()
        with django_assert_max_num_queries(1):
            assert len(list(trace_rows(one))) == expected
        assert len(started) == 1


def test_a_trace_knows_the_serial_number_of_a_unit_that_has_one(lot):
    UnitOfStock.objects.filter(pk=lot.units.earliest("id").pk).update(serial="SN-0042")
    assert [row.serial for row in trace_rows(lot)] == ["SN-0042", "SN-0042", ""]
