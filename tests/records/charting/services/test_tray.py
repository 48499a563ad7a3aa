"""Units opened, put back and wasted from a tablet."""

import uuid
from datetime import timedelta

import pytest
from django.utils import timezone

from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import place_quarantine, quarantine_lot
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import UnitOfStock
from clinic.stock.services import take_out_of_stock
from records.sessions.models import TreatmentSession
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
    refreshed,
)
from tests.records.charting.tablet import open_data, stamp


@pytest.fixture
def vial(owner):
    toxin = make_product(
        "Toxin", kind="toxin", content=10_000, is_single_patient=False, hours_after_opening=24
    )
    return make_units(owner, toxin, number="T1", quantity=1)[0]


def opening(tablet, session, unit, **data) -> dict:
    return tablet.op("open", session, open_data(unit, **data))


def test_open_puts_the_unit_on_the_tray_once(tablet, session, units):
    op = opening(tablet, session, units[1])
    assert tablet.outcomes(op, op) == ["applied", "applied"]
    assert refreshed(units[1]).state == UnitState.OPENED
    assert session.tray.filter(unit=units[1]).count() == 1
    assert str(refreshed(session).head) == op["id"]


def test_opening_is_dated_by_the_hand_not_by_its_arrival(tablet, session, vial):
    """A vial's hours run from when it was made up, however late the tablet tells."""
    an_hour_ago = timezone.now() - timedelta(hours=1)
    TreatmentSession.objects.filter(pk=session.pk).update(started_at=an_hour_ago)
    op = opening(tablet, session, vial, diluent_ul=2500) | {"made_at": stamp(an_hour_ago)}
    tablet.only(op)
    made_up = vial.opening
    assert abs(made_up.opened_at - an_hour_ago) < timedelta(seconds=5)
    assert made_up.use_before - made_up.opened_at == timedelta(hours=24)


def test_lot_quarantined_meanwhile_is_shown_with_both_versions(tablet, session, units, owner):
    quarantine_lot(lot=units[1].lot, reason="Maker asked to hold it", actor=owner)
    result = tablet.only(opening(tablet, session, units[1]))
    assert result["outcome"] == "conflict"
    conflict = result["conflict"]
    assert conflict["about"] == "unit"
    assert units[1].label in conflict["here"]
    assert "Ann Example" in conflict["here"]
    assert "in quarantine: Maker asked to hold it" in conflict["there"]
    acts = [way["act"] for way in conflict["choices"]]
    assert acts == ["drop", "other_unit", "deviation"]
    assert refreshed(units[1]).state == UnitState.IN_STOCK
    told = opening(tablet, session, units[1], deviation="Was in before the notice came")
    assert tablet.only(told)["outcome"] == "applied"
    assert session.tray.get(unit=units[1]).deviation == "Was in before the notice came"


def test_single_unit_quarantined_meanwhile_is_a_conflict_and_the_others_are_opened(
    tablet, session, units, owner
):
    UnitOfStock.objects.filter(pk=units[1].pk).update(serial="S7")
    UnitOfStock.objects.filter(pk=units[2].pk).update(serial="S8")
    span = Quarantine(
        product=units[1].lot.product, serial_first="S7", serial_last="S7", reason="Maker asked"
    )
    place_quarantine(quarantine=span, actor=owner)
    result = tablet.only(opening(tablet, session, units[1]))
    assert result["outcome"] == "conflict"
    assert f"Unit {units[1].label} is in quarantine: Maker asked" in result["conflict"]["there"]
    assert tablet.only(opening(tablet, session, units[2]))["outcome"] == "applied"
    told = opening(tablet, session, units[1], deviation="Was in before the notice came")
    assert tablet.only(told)["outcome"] == "applied"


def test_unit_opened_for_another_patient_meanwhile_is_a_conflict(
    tablet, session, units, injector, desk
):
    make_session_with_unit(injector, make_patient(desk, "Bo Li"), units[1])
    result = tablet.only(opening(tablet, session, units[1]))
    assert result["outcome"] == "conflict"
    assert "was opened for another patient" in result["conflict"]["there"]


def test_unit_that_left_the_stock_cannot_have_been_used(tablet, session, units, owner):
    take_out_of_stock(unit=units[1], kind=MovementKind.WRITTEN_OFF, reason="Broken", actor=owner)
    result = tablet.only(opening(tablet, session, units[1], deviation="Used it"))
    assert result["outcome"] == "conflict"
    assert [way["act"] for way in result["conflict"]["choices"]] == ["other_unit", "drop"]


def test_expired_today_but_opened_before_is_judged_by_the_hand(tablet, session, owner):
    yesterday = timezone.localdate() - timedelta(days=1)
    old = make_units(owner, make_product("Old"), number="OLD", expires_on=yesterday)[0]
    TreatmentSession.objects.filter(pk=session.pk).update(
        started_at=timezone.now() - timedelta(days=1)
    )
    at = stamp(timezone.now() - timedelta(days=1))
    assert tablet.only(opening(tablet, session, old))["outcome"] == "conflict"
    assert tablet.only(opening(tablet, session, old) | {"made_at": at})["outcome"] == "applied"


def test_toxin_is_not_opened_without_its_diluent(tablet, session, vial):
    result = tablet.only(opening(tablet, session, vial))
    assert result["outcome"] == "refused"
    assert "the units in 0.1 mL depend on it" in result["message"]
    assert refreshed(vial).state == UnitState.IN_STOCK


def test_unknown_diluent_can_be_said_and_is_asked_about(tablet, session, vial):
    tablet.only(opening(tablet, session, vial, no_diluent=True))
    assert vial.opening.diluent_ul is None
    flags = tablet.send(wanted=[session])["sessions"][str(session.key)]["flags"]
    words = f"No diluent is recorded for unit {vial.label}, Toxin."
    assert words in [flag["title"] for flag in flags]


def test_what_it_was_made_up_with_is_kept_and_told(tablet, session, vial):
    tablet.only(opening(tablet, session, vial, diluent_ul=2500, diluent="saline"))
    assert (vial.opening.diluent_ul, vial.opening.diluent) == (2500, "saline")
    told = tablet.send(wanted=[session])["sessions"][str(session.key)]["tray"]
    (row,) = [row["unit"] for row in told if row["unit"]["pk"] == vial.pk]
    assert (row["diluent"], row["opened_by"]) == ("saline", "Ida Injector")


def test_toxin_used_already_is_written_down_without_its_diluent(tablet, session, vial, owner):
    quarantine_lot(lot=vial.lot, reason="Maker asked to hold it", actor=owner)
    told = opening(tablet, session, vial, deviation="Was in before the notice came")
    assert tablet.only(told)["outcome"] == "applied"


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({"unit": None}, "Choose the unit."),
        ({"unit": 999_999}, "no such unit"),
        ({"diluent_ul": "some"}, "whole number"),
        ({"diluent_ul": -1}, "greater than or equal"),
        ({"diluent": "tap water"}, "is not a diluent that the clinic knows"),
        ({"deviation": "x" * 301}, "at most 300"),
    ],
)
def test_bad_input_opens_nothing(tablet, session, units, data, sentence):
    op = tablet.op("open", session, open_data(units[1]) | data)
    result = tablet.only(op)
    assert (result["outcome"], sentence in result["message"]) == ("refused", True), result
    assert session.tray.count() == 1


def test_unused_unit_is_put_back_once(tablet, session, units):
    back = tablet.op("put_back", session, {"unit": units[0].pk})
    again = tablet.op("put_back", session, {"unit": units[0].pk}, base=back["id"])
    assert tablet.outcomes(back, again) == ["applied", "applied"]
    assert refreshed(units[0]).state == UnitState.IN_STOCK


def test_used_unit_is_not_put_back(tablet, session, units):
    make_point(session, units[0])
    result = tablet.only(tablet.op("put_back", session, {"unit": units[0].pk}))
    assert (result["outcome"], "was used" in result["message"]) == ("refused", True)


def test_putting_back_waits_for_the_opening_it_undoes(tablet, session, units):
    first = opening(tablet, session, units[1])
    back = tablet.op("put_back", session, {"unit": units[1].pk}, base=first["id"])
    assert tablet.outcomes(back) == ["hold"]
    assert tablet.outcomes(first, back) == ["applied", "applied"]
    assert refreshed(units[1]).state == UnitState.IN_STOCK


def test_drop_sent_twice_counts_once_and_two_drops_count_twice(tablet, session, units):
    drop = {"unit": units[0].pk, "amount": 30, "reason": "Primed the needle"}
    first = tablet.op("waste", session, drop)
    second = tablet.op("waste", session, drop, base=first["id"])
    assert tablet.outcomes(first, first, second, first) == ["applied"] * 4
    assert refreshed(units[0]).wasted == 60


def test_drop_stored_before_it_was_given_up_for_another_is_not_counted_twice(
    tablet, session, units
):
    """Refused, then edited, while the first sending of it was still on its way."""
    drop = {"unit": units[0].pk, "amount": 30, "reason": "Primed the needle"}
    first = tablet.op("waste", session, drop)
    tablet.only(first)
    given_up = tablet.op("withdraw", session, {"operation": first["id"]})
    edited = tablet.op("waste", session, drop | {"amount": 20}, instead_of=first["id"])
    assert tablet.outcomes(given_up, edited) == ["refused", "conflict"]
    assert refreshed(units[0]).wasted == 30
    again = tablet.op("waste", session, edited["data"], instead_of=edited["id"])
    assert tablet.outcomes(again) == ["applied"]
    assert refreshed(units[0]).wasted == 50


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({"amount": None}, "required"),
        ({"reason": ""}, "Why it was wasted is missing."),
        ({"amount": 2_000}, "1 mL remain"),
        ({"unit": 999_999}, "no such unit"),
    ],
)
def test_waste_that_does_not_hold_is_refused(tablet, session, units, data, sentence):
    drop = {"unit": units[0].pk, "amount": 30, "reason": "Primed"}
    result = tablet.only(tablet.op("waste", session, drop | data))
    assert (result["outcome"], sentence in result["message"]) == ("refused", True), result


def test_waste_from_a_unit_that_is_not_on_the_tray_is_refused(tablet, session, units):
    drop = {"unit": units[1].pk, "amount": 30, "reason": "Primed"}
    result = tablet.only(tablet.op("waste", session, drop))
    assert "not on the tray" in result["message"]


def test_acts_on_a_tray_wait_for_what_they_build_on(tablet, session, units):
    op = opening(tablet, session, units[1]) | {"base": str(uuid.uuid4())}
    assert tablet.outcomes(op) == ["hold"]
