"""The database's own rules, tried by going round the services: both databases refuse alike."""

import pytest
from django.db import IntegrityError, connection, transaction

from clinic.database.triggers import expected_names, installed_names
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from records.sessions.models import Addendum, InjectionEntry, Opening, SessionUnit, TreatmentSession
from records.sessions.services.signing import add_addendum, sign_session
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    refreshed,
)


@pytest.fixture
def units(owner):
    return make_units(owner, make_product(), quantity=3)


@pytest.fixture
def session(injector, patient, units):
    return make_session_with_unit(injector, patient, units[0])


@pytest.fixture
def point(session, units):
    return make_point(session, units[0])


@pytest.fixture
def signed(session, point, units, injector):
    sign_session(session=session, remainders={units[0].pk: "kept"}, actor=injector)
    return refreshed(session)


def refused(act, message: str) -> None:
    with pytest.raises(IntegrityError, match=message), transaction.atomic():
        act()


def run(sql: str, *arguments):
    with connection.cursor() as cursor:
        cursor.execute(sql, arguments)


@pytest.mark.django_db
def test_every_trigger_is_in_the_database():
    assert installed_names(connection) == expected_names(connection.vendor)


def test_signed_point_is_neither_changed_nor_deleted(signed, point):
    points = InjectionEntry.objects.filter(pk=point.pk)
    refused(lambda: points.update(amount=1), "the session is signed")
    refused(lambda: points._raw_delete(points.db), "the session is signed")
    refused(
        lambda: run("UPDATE records_injectionentry SET region = 'nasal' WHERE id = %s", point.pk),
        "the session is signed",
    )
    assert refreshed(point).amount == 200


def test_no_point_is_added_to_a_signed_session(signed, point):
    twin = InjectionEntry.objects.get(pk=point.pk)
    twin.pk, twin.number, twin.key = None, 2, "0b8d6a3c-4d0f-4c55-9f5e-6f5df2a8a001"
    refused(twin.save, "the session is signed")


def test_signed_session_itself_is_locked(signed):
    sessions = TreatmentSession.objects.filter(pk=signed.pk)
    refused(lambda: sessions.update(note="Later"), "the session is signed")
    refused(lambda: sessions.update(signed_at=None, signed_by=None), "the session is signed")
    refused(lambda: sessions._raw_delete(sessions.db), "the session is signed")


def test_signed_tray_and_opening_are_locked(signed):
    tray, openings = SessionUnit.objects.all(), Opening.objects.all()
    refused(lambda: tray.update(remainder="wasted"), "the session is signed")
    refused(lambda: tray._raw_delete(tray.db), "the session is signed")
    refused(lambda: openings.update(diluent_ul=5), "the session is signed")
    refused(lambda: openings._raw_delete(openings.db), "the session is signed")


def test_point_is_not_moved_into_a_signed_session(signed, units, injector, desk):
    other = make_session_with_unit(injector, make_patient(desk, "Bo Li"), units[1])
    stray = InjectionEntry.objects.filter(pk=make_point(other, units[1]).pk)
    refused(lambda: stray.update(session=signed), "signed|not on the tray")


def test_addenda_are_append_only(signed, injector):
    add_addendum(session=signed, reason="Why", text="What", actor=injector)
    addenda = Addendum.objects.all()
    refused(lambda: addenda.update(text="Else"), "append-only")
    refused(lambda: addenda._raw_delete(addenda.db), "append-only")


def test_unit_is_never_overdrawn_whoever_writes(session, point, units):
    points = InjectionEntry.objects.filter(pk=point.pk)
    refused(lambda: points.update(amount=1001), "unit_never_overdrawn")
    points.update(amount=1000)
    assert refreshed(units[0]).remaining == 0


def test_waste_beyond_the_content_is_refused(session, point, units, injector):
    def throw_away():
        StockMovement.objects.create(
            unit=units[0], kind="wasted", amount=801, reason="x", at=session.started_at, by=injector
        )

    refused(throw_away, "unit_never_overdrawn")


def test_drawn_follows_the_points_by_any_path(session, point, units):
    points = InjectionEntry.objects.filter(pk=point.pk)
    points.update(amount=50)
    assert refreshed(units[0]).drawn == 50
    points._raw_delete(points.db)
    assert refreshed(units[0]).drawn == 0


@pytest.mark.parametrize("held", [UnitOfStock, Lot])
def test_nothing_in_quarantine_is_opened_by_any_path(session, units, injector, held):
    unit = units[1]
    pk = unit.pk if held is UnitOfStock else unit.lot_id
    held.objects.filter(pk=pk).update(
        quarantined_at=session.started_at, quarantine_reason="Maker asked"
    )
    opening = Opening(unit=unit, session=session, opened_at=session.started_at, opened_by=injector)
    refused(lambda: opening.save(force_insert=True), "the unit is in quarantine")
    opening.deviation = "Was in before the notice came"
    opening.save(force_insert=True)
    assert Opening.objects.filter(pk=unit.pk).exists()


def test_diluent_is_a_known_one_and_has_a_volume(session, units, injector):
    def opened(**made_up):
        return Opening(
            unit=units[1], session=session, opened_at=session.started_at, opened_by=injector,
            **made_up,
        )  # fmt: skip

    refused(opened(diluent="tea", diluent_ul=9).save, "opening_diluent_is_known")
    refused(opened(diluent="saline").save, "opening_diluent_has_a_volume")


def test_point_needs_its_unit_on_the_tray(session, point, units):
    refused(
        lambda: InjectionEntry.objects.filter(pk=point.pk).update(unit=units[1]),
        "not on the tray",
    )


def test_another_patients_unit_needs_a_written_deviation(session, units, injector, desk):
    other = make_session(injector, make_patient(desk, "Bo Li"))
    refused(lambda: SessionUnit.objects.create(session=other, unit=units[0]), "another patient")
    SessionUnit.objects.create(session=other, unit=units[0], deviation="Mixed up")


def test_unopened_unit_is_not_put_on_a_tray(session, units):
    refused(lambda: SessionUnit.objects.create(session=session, unit=units[1]), "not open")


@pytest.mark.parametrize("amount", [0, -5])
def test_amount_of_a_point_is_positive(session, point, amount):
    refused(lambda: InjectionEntry.objects.filter(pk=point.pk).update(amount=amount), "amount")


def test_patient_has_one_open_session(session, injector):
    twin = TreatmentSession(
        patient=session.patient, injector=injector, started_at=session.started_at
    )
    refused(twin.save, "session_one_open|patient_id")


def test_counted_content_always_balances(session, point):
    for unit in UnitOfStock.objects.all():
        assert unit.content == unit.drawn + unit.wasted + unit.remaining
