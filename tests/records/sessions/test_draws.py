"""Every draw is a row of the stock's ledger, whatever path the point is written by."""

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from clinic.stock.models import StockMovement, UnitOfStock
from records.sessions.models import InjectionEntry, Opening, SessionUnit
from records.sessions.services.points import (
    change_point,
    move_point,
    remove_point,
    restore_point,
)
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    make_user,
    point_details,
    refreshed,
)


@pytest.fixture
def units(owner):
    return make_units(owner, make_product(), quantity=3)


@pytest.fixture
def session(injector, patient, units):
    session = make_session_with_unit(injector, patient, units[0])
    put_on_tray(session=session, unit=units[1], actor=injector)
    return session


@pytest.fixture
def point(session, units):
    return make_point(session, units[0], amount=200)


def draws() -> list[tuple]:
    rows = StockMovement.objects.filter(kind__in=["drawn", "undrawn"]).order_by("id")
    return list(rows.values_list("unit__label", "kind", "amount"))


def test_a_logged_point_is_one_row_with_person_time_and_number(point, injector):
    row = StockMovement.objects.get(kind="drawn")
    assert (row.unit_id, row.amount, row.by, row.reason) == (
        point.unit_id,
        200,
        injector,
        "Point 1",
    )
    assert abs(row.at - point.logged_at).total_seconds() < 0.001


def test_another_amount_takes_the_old_draw_back_in_the_name_of_who_changed_it(point, units):
    colleague = make_user("second", is_injector=True)
    change_point(point=point, details=point_details(units[0], amount=300), actor=colleague)
    assert draws() == [("U000001", "drawn", 200), ("U000001", "undrawn", 200),
                       ("U000001", "drawn", 300)]  # fmt: skip
    names = StockMovement.objects.filter(kind__in=["drawn", "undrawn"]).order_by("id")
    assert [row.by.username for row in names] == ["injector", "second", "second"]


def test_another_unit_moves_the_draw_there(point, units, injector):
    change_point(point=point, details=point_details(units[1], amount=200), actor=injector)
    assert draws()[1:] == [("U000001", "undrawn", 200), ("U000002", "drawn", 200)]
    assert (refreshed(units[0]).drawn, refreshed(units[1]).drawn) == (0, 200)


def test_a_point_that_only_moves_on_the_face_draws_nothing_anew(point, injector):
    move_point(point=point, x_dmm=450, y_dmm=350, actor=injector)
    details = point_details(point.unit, amount=200, plane="subcutaneous")
    change_point(point=point, details=details, actor=injector)
    assert draws() == [("U000001", "drawn", 200)]


def test_removing_and_bringing_back_are_rows_too_and_doing_it_twice_is_none(point, injector):
    remove_point(point=point, actor=injector)
    remove_point(point=point, actor=injector)
    restore_point(point=point, actor=injector)
    restore_point(point=point, actor=injector)
    assert [kind for _, kind, _ in draws()] == ["drawn", "undrawn", "drawn"]


def test_rows_written_past_the_services_are_in_the_ledger(point, units):
    points = InjectionEntry.objects.filter(pk=point.pk)
    points.update(amount=250)
    points.update(unit=units[1], amount=100)
    points.update(removed_at=timezone.now())
    points.update(amount=90)  # of one that does not stand
    assert draws()[1:] == [
        ("U000001", "undrawn", 200), ("U000001", "drawn", 250),
        ("U000001", "undrawn", 250), ("U000002", "drawn", 100),
        ("U000002", "undrawn", 100),
    ]  # fmt: skip
    assert list(UnitOfStock.objects.order_by("id").values_list("drawn", flat=True)) == [0, 0, 0]


def test_a_deleted_point_gives_its_draw_back(point):
    InjectionEntry.objects.filter(pk=point.pk)._raw_delete("default")
    assert draws()[1:] == [("U000001", "undrawn", 200)]


def test_an_overdraw_leaves_no_row(point, units):
    with pytest.raises(IntegrityError, match="unit_never_overdrawn"), transaction.atomic():
        InjectionEntry.objects.filter(pk=point.pk).update(amount=1001)
    assert draws() == [("U000001", "drawn", 200)]


def hold(table: str, pk: int) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            f"UPDATE {table} SET quarantined_at = %s, quarantine_reason = 'held' WHERE id = %s",  # noqa: S608
            [timezone.now(), pk],
        )


@pytest.mark.parametrize("held", ["clinic_lot", "clinic_unitofstock"])
def test_nothing_in_quarantine_is_opened_or_taken_up_round_the_services(
    session, units, injector, desk, held
):
    hold(held, units[2].lot_id if held == "clinic_lot" else units[2].pk)
    opening = Opening(
        unit=units[2], session=session, patient=session.patient, opened_at=timezone.now(),
        opened_by=injector,
    )  # fmt: skip
    with pytest.raises(IntegrityError, match="the unit is in quarantine"), transaction.atomic():
        opening.save(force_insert=True)
    opening.deviation = "It was in the hand when the letter came"
    opening.save(force_insert=True)
    row = SessionUnit(session=session, unit=units[2])
    with pytest.raises(IntegrityError, match="the unit is in quarantine"), transaction.atomic():
        row.save()


def test_a_shared_vial_that_is_open_is_not_taken_up_once_its_lot_is_held(owner, injector, desk):
    vial = make_product("Toxin", kind="toxin", content=10_000, is_single_patient=False)
    (unit,) = make_units(owner, vial, number="T1", quantity=1)
    make_session_with_unit(injector, make_patient(desk, "First"), unit)
    hold("clinic_lot", unit.lot_id)
    other = make_session(make_user("second", is_injector=True), make_patient(desk, "Second"))
    with pytest.raises(IntegrityError, match="the unit is in quarantine"), transaction.atomic():
        SessionUnit.objects.create(session=other, unit=unit)
