"""`verify_ledger` finds what was changed behind the triggers' back."""

from contextlib import contextmanager
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from clinic.database import triggers
from clinic.stock.models import StockMovement, UnitOfStock
from clinic.stock.services import put_elsewhere
from records.recalls.models import RecallCase
from records.recalls.services.closing import close_case
from records.sessions.enums import Remainder
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.queries import balances
from records.sessions.queries.balances import UnitCheck, unit_checks
from records.sessions.services.points import remove_point
from records.sessions.services.signing import add_addendum, sign_session
from records.sessions.services.tray import record_waste
from tests.factories import (
    make_place,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
    refreshed,
)
from tests.records.recalls.cases import make_case, span


@pytest.fixture
def product_in_stock(owner):
    product = make_product()
    make_units(owner, product, quantity=2)
    return product


@contextmanager
def triggers_away():
    triggers.drop_all(connection)
    try:
        yield
    finally:
        triggers.install_all(connection)


def verify() -> str:
    out = StringIO()
    call_command("verify_ledger", stdout=out)
    return out.getvalue().strip()


def fault() -> str:
    with pytest.raises(CommandError) as error:
        verify()
    assert error.value.returncode == 1
    return str(error.value)


@pytest.fixture
def session(injector, patient, owner):
    """Signed: 0.3 mL drawn, of three points one removed; 0.1 mL wasted, then the rest."""
    unit = make_units(owner, make_product(), quantity=2)[0]
    session = make_session_with_unit(injector, patient, unit)
    make_point(session, unit)
    make_point(session, unit, x_dmm=-500, amount=100)
    remove_point(point=make_point(session, unit, amount=50), actor=injector)
    record_waste(session=session, unit=unit, amount=100, reason="Primed", actor=injector)
    return sign_session(session=session, remainders={unit.pk: Remainder.WASTED}, actor=injector)


@pytest.fixture
def unit(session) -> UnitOfStock:
    return session.tray.get().unit


def told(*, units: int, sessions: int, cases: int = 0) -> str:
    return (
        f"{units} units balance, {sessions} signed sessions unchanged, "
        f"{cases} closed recall cases unchanged"
    )


@pytest.mark.django_db
def test_an_empty_clinic_is_fine():
    assert verify() == told(units=0, sessions=0)


def test_a_sound_clinic_is_counted(session):
    assert verify() == told(units=2, sessions=1)


def test_an_addendum_leaves_the_signed_session_as_it_was(session, injector):
    add_addendum(session=session, reason="Forgotten", text="Ice was given.", actor=injector)
    assert verify() == told(units=2, sessions=1)


def test_an_unsigned_session_is_not_counted(session, injector, patient, unit):
    make_session_with_unit(injector, patient, UnitOfStock.objects.exclude(pk=unit.pk).get())
    assert verify() == told(units=2, sessions=1)


def test_a_draw_that_no_point_explains(unit):
    with triggers_away():
        UnitOfStock.objects.filter(pk=unit.pk).update(drawn=290)
    assert fault() == (
        f"unit {unit.label} does not balance: 290 were drawn by its row, 300 by its points "
        "(in base units). 0 units before it balance."
    )


def test_a_point_that_is_taken_away(session, unit):
    with triggers_away():
        session.points.filter(number=2).delete()
    assert f"unit {unit.label} does not balance: 300 were drawn by its row, 200 by its" in fault()


def test_a_row_of_the_ledger_that_is_taken_away(unit):
    with triggers_away():
        StockMovement.objects.filter(reason="Primed").delete()
    assert f"unit {unit.label} does not balance: 700 were wasted by its row, 600 by the" in fault()


def test_the_second_unit_is_found_too(session, unit):
    other = UnitOfStock.objects.exclude(pk=unit.pk).get()
    with triggers_away():
        UnitOfStock.objects.filter(pk=other.pk).update(state="opened", wasted=1)
    assert fault().startswith(f"unit {other.label} does not balance")
    assert fault().endswith("1 units before it balance.")


LEDGER_OF_A_UNIT = {
    "a draw that is taken away": (
        lambda rows, unit: rows.filter(kind="drawn", amount=200).delete(),
        "300 were drawn by its row, 100 by the ledger",
    ),
    "a draw that is made smaller": (
        lambda rows, unit: rows.filter(kind="drawn", amount=200).update(amount=150),
        "300 were drawn by its row, 250 by the ledger",
    ),
    "a draw taken back that never was": (
        lambda rows, unit: rows.filter(kind="undrawn").update(amount=400),
        "its ledger cannot be: Movement 6, draw taken back: 400 is more than the 350 that are",
    ),
    "the delivery taken away": (
        lambda rows, unit: rows.filter(kind="received").delete(),
        "its ledger cannot be: Movement 1, opened: the unit was neither received nor found",
    ),
    "the delivery of another size": (
        lambda rows, unit: rows.filter(kind="received").update(amount=1_100),
        "1000 is its content by its row, 1100 by the ledger",
    ),
    "all of it taken away": (lambda rows, unit: rows.delete(), "the ledger has no row of it"),
    "the opening taken away": (
        lambda rows, unit: rows.filter(kind="opened").delete(),
        "its ledger cannot be: Movement 2, drawn: the unit is in stock (in base",
    ),
    "a place that nobody moved it to": (
        lambda rows, unit: unit.update(place=make_place("Safe", site="Main")),
        "it lies in Main, Safe by its row, nowhere by the ledger",
    ),
}


@pytest.mark.parametrize("what", LEDGER_OF_A_UNIT)
def test_a_ledger_that_was_changed_behind_the_triggers(unit, what):
    tamper, sentence = LEDGER_OF_A_UNIT[what]
    with triggers_away():
        tamper(StockMovement.objects.filter(unit=unit), UnitOfStock.objects.filter(pk=unit.pk))
    assert f"unit {unit.label} does not balance: {sentence}" in fault()


def test_a_state_that_no_movement_explains(unit):
    other = UnitOfStock.objects.exclude(pk=unit.pk).get()
    with triggers_away():
        UnitOfStock.objects.filter(pk=other.pk).update(state="returned")
    assert fault().startswith(
        f"unit {other.label} does not balance: it is returned to supplier by its row, in stock by "
        "the ledger"
    )


def test_a_unit_that_was_moved_is_where_the_ledger_says(unit, owner):
    put_elsewhere(unit=unit, place=make_place("Safe", site="Main"), actor=owner)
    assert verify() == told(units=2, sessions=1)


def test_it_reads_units_points_and_ledger_once_each(session, owner, django_assert_num_queries):
    make_units(owner, make_product("Another"), number="B7", quantity=5)
    with django_assert_num_queries(3):
        assert [check.fault for check in unit_checks()] == [""] * 7


def test_what_is_written_while_it_reads_is_no_fault(injector, patient, owner, monkeypatch):
    """A point that comes after the points were read, and before the ledger is."""
    unit = make_units(owner, make_product(), quantity=1)[0]
    session = make_session_with_unit(injector, patient, unit)
    read = balances._ledger

    def read_later(**of):
        if not session.points.exists():
            make_point(session, unit)
        return read(**of)

    monkeypatch.setattr(balances, "_ledger", read_later)
    assert list(unit_checks()) == [UnitCheck(unit.label, "")]
    assert refreshed(unit).drawn == 200


TAMPERED = {
    "the plane of a point": (InjectionEntry, {"number": 1}, {"plane": "subcutaneous"}),
    "the place of a point": (InjectionEntry, {"number": 2}, {"x_dmm": -501}),
    "the number of a point": (InjectionEntry, {"number": 2}, {"number": 9}),
    "the aspiration": (InjectionEntry, {"number": 1}, {"aspiration": "not_done"}),
    "the free note": (TreatmentSession, {}, {"note": "Nothing happened"}),
    "the name under it": (TreatmentSession, {}, {"signed_name": "Somebody Else"}),
    "the digest": (TreatmentSession, {}, {"signed_digest": "0" * 64}),
    "the remainder": (SessionUnit, {}, {"remainder": "kept"}),
}


@pytest.mark.parametrize("what", TAMPERED)
def test_a_signed_session_that_was_changed(session, what):
    model, which, values = TAMPERED[what]
    with triggers_away():
        assert model.objects.filter(**which).update(**values) == 1
    assert fault() == (
        f"session {session.pk} of {session.patient.record_number} is not as it was signed. "
        "0 signed sessions before it are unchanged."
    )


def test_a_point_put_back_after_signing(session, unit):
    with triggers_away():
        session.points.filter(number=3).update(removed_at=None)
        UnitOfStock.objects.filter(pk=unit.pk).update(drawn=350, wasted=650)
        StockMovement.objects.filter(amount=600).update(amount=550)
        StockMovement.objects.filter(unit=unit, kind="undrawn").delete()
    assert f"session {session.pk} of" in fault()


@pytest.mark.parametrize("what", [{"reference": "FSN-99"}, {"closed_digest": "0" * 64}])
def test_a_closed_recall_case_that_was_changed(owner, product_in_stock, what):
    for reference in ("FSN-1", "FSN-2"):
        case = make_case(owner, span(product_in_stock), reference=reference)
        things = dict.fromkeys(("list", "to_pull", "people", "checks"), "Because")
        close_case(case=case, note="", explanations=things, actor=owner)
    assert verify() == told(units=2, sessions=0, cases=2)
    with triggers_away():
        RecallCase.objects.filter(pk=case.pk).update(**what)
    assert fault() == (
        "Recall R0002 is not as it was closed. 1 closed cases before it are unchanged."
    )
