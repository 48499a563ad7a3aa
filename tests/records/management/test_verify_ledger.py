"""`verify_ledger` finds what was changed behind the triggers' back."""

from contextlib import contextmanager
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from clinic.database import triggers
from clinic.stock.models import StockMovement, UnitOfStock
from records.sessions.enums import Remainder
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.services.points import remove_point
from records.sessions.services.signing import add_addendum, sign_session
from records.sessions.services.tray import record_waste
from tests.factories import make_point, make_product, make_session_with_unit, make_units


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


@pytest.mark.django_db
def test_an_empty_clinic_is_fine():
    assert verify() == "0 units balance, 0 signed sessions unchanged"


def test_a_sound_clinic_is_counted(session):
    assert verify() == "2 units balance, 1 signed sessions unchanged"


def test_an_addendum_leaves_the_signed_session_as_it_was(session, injector):
    add_addendum(session=session, reason="Forgotten", text="Ice was given.", actor=injector)
    assert verify() == "2 units balance, 1 signed sessions unchanged"


def test_an_unsigned_session_is_not_counted(session, injector, patient, unit):
    make_session_with_unit(injector, patient, UnitOfStock.objects.exclude(pk=unit.pk).get())
    assert verify() == "2 units balance, 1 signed sessions unchanged"


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
    assert f"session {session.pk} of" in fault()
