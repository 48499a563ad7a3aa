"""What a tablet keeps for the day."""

from collections import Counter
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import lift_quarantine, place_quarantine, quarantine_lot
from clinic.stock.models import StockMovement, UnitOfStock
from planning.vocabulary import Measure
from records.charting.queries.day import STEPS, amount_steps
from records.sessions.services.signing import sign_session
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_alert,
    make_anaesthetic,
    make_appointment,
    make_patient,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    make_user,
)
from tests.records.charting.tablet import point_data


@pytest.fixture
def day(client):
    def fetch(user) -> dict:
        client.force_login(user)
        answer = client.get(reverse("charting-day"))
        assert answer.status_code == 200
        assert answer["Cache-Control"] == "no-store"
        return answer.json()

    return fetch


def book_today(desk, patient, injector, **fields):
    today = timezone.localdate()
    return make_appointment(
        desk, patient, injector, f"{today} {fields.pop('at', '10:00')}", **fields
    )


def test_day_holds_own_appointments_with_who_and_what_to_beware_of(day, injector, desk, patient):
    make_alert(desk, patient, "Pollen", level="note")
    make_alert(desk, patient, "Lidocaine rash", level="stop")
    booked = book_today(desk, patient, injector, kind="treatment")
    colleague = make_user("second", is_injector=True)
    book_today(desk, make_patient(desk, "Bo Li"), colleague)
    told = day(injector)
    assert told["user"] == {"id": injector.pk, "name": "Ida Injector"}
    (row,) = told["appointments"]
    assert (row["pk"], row["patient"], row["kind_label"]) == (booked.pk, patient.pk, "Treatment")
    (person,) = told["patients"]
    assert (person["name"], person["birth_date"]) == ("Ann Example", "1980-05-17")
    assert [alert["text"] for alert in person["alerts"]] == ["Lidocaine rash", "Pollen"]
    assert person["alerts"][0]["label"] == "Stop and ask"
    assert person["last"] is None


def test_cancelled_and_other_days_appointments_are_left_out(day, injector, desk, patient):
    make_appointment(desk, patient, injector, "2030-01-07 10:00")
    booked = book_today(desk, patient, injector)
    type(booked).objects.filter(pk=booked.pk).update(state="cancelled", cancel_reason="Ill")
    told = day(injector)
    assert (told["appointments"], told["patients"]) == ([], [])


def test_unsigned_sessions_and_those_signed_today_are_there(day, injector, desk, patient, units):
    open_one = make_session_with_unit(injector, patient, units[0])
    signed = make_session(injector, make_patient(desk, "Bo Li"))
    sign_session(session=signed, remainders={}, actor=injector)
    older = make_session(injector, make_patient(desk, "Cy Older"))
    sign_session(session=older, remainders={}, actor=injector)
    make_session(make_user("second", is_injector=True), make_patient(desk, "Di Other"))
    told = day(injector)
    keys = {row["key"]: row["signed"] for row in told["sessions"]}
    assert set(keys) == {str(row.key) for row in (open_one, signed, older)}
    assert keys[str(open_one.key)] is None
    assert keys[str(signed.key)]["name"] == "Ida Injector"


def test_last_session_is_the_newest_signed_one_with_points(day, injector, desk, patient, units):
    before = make_session_with_unit(injector, patient, units[0])
    make_point(before, units[0], technique="fanning", reach_x_dmm=520, reach_y_dmm=360)
    sign_session(session=before, remainders={units[0].pk: "wasted"}, actor=injector)
    empty = make_session(injector, patient)
    sign_session(session=empty, remainders={}, actor=injector)
    now = make_session(injector, patient)
    told = day(injector)
    (mine,) = [row for row in told["sessions"] if row["key"] == str(now.key)]
    book_today(desk, patient, injector)
    (person,) = day(injector)["patients"]
    (itself,) = [row for row in told["sessions"] if row["key"] == str(before.key)]
    assert itself["last"] is None
    for last in (person["last"], mine["last"]):
        (point,) = last["points"]
        assert (point["number"], point["reach_x_dmm"], point["product"]) == (
            1, 520, "HA filler 1 mL"
        )  # fmt: skip
        assert (point["kind"], point["measure"], point["amount"]) == ("ha_filler", "volume", 200)


def test_stock_stands_by_product_and_lot_with_what_speaks_against_it(day, injector, owner):
    filler = make_product()
    make_units(owner, filler, number="LATE", expires_on=date(2031, 1, 1))
    soon = make_units(owner, filler, number="SOON", expires_on=date(2030, 1, 1))
    make_units(owner, filler, number="GONE", expires_on=date(2020, 1, 1))
    quarantine_lot(lot=soon[0].lot, reason="Maker asked", actor=owner)
    (product,) = day(injector)["stock"]["products"]
    assert (product["name"], product["measure"]) == ("HA filler 1 mL", "volume")
    assert (product["single_patient"], product["asks_diluent"]) == (True, False)
    assert product["lidocaine"]
    lots = {lot["number"]: lot for lot in product["lots"]}
    assert list(lots) == ["GONE", "SOON", "LATE"]
    assert "expired on 01 Jan 2020" in lots["GONE"]["against"][0]
    assert lots["SOON"]["against"] == ["Lot SOON is in quarantine: Maker asked"]
    assert (lots["LATE"]["against"], lots["LATE"]["held"]) == ([], None)
    assert (lots["SOON"]["held"]["what"], lots["SOON"]["held"]["reason"]) == (
        "Lot SOON", "Maker asked"
    )  # fmt: skip
    assert [unit["pk"] for unit in lots["SOON"]["units"]] == [unit.pk for unit in soon]


def test_unit_held_by_its_serial_number_says_so_beside_its_lot(day, injector, owner):
    filler = make_product(gtin="09520123456788")
    units = make_units(owner, filler, quantity=2)
    UnitOfStock.objects.filter(pk=units[0].pk).update(serial="S1")
    UnitOfStock.objects.filter(pk=units[1].pk).update(serial="S2")
    span = Quarantine(product=filler, serial_first="S1", serial_last="S1", reason="Maker asked")
    place_quarantine(quarantine=span, actor=owner)
    (product,) = day(injector)["stock"]["products"]
    assert product["gtin"] == "09520123456788"
    (lot,) = product["lots"]
    assert (lot["against"], lot["held"]) == ([], None)
    held, free = lot["units"]
    assert held["against"] == [f"Unit {units[0].label} is in quarantine: Maker asked"]
    assert held["held"]["what"] == f"Unit {units[0].label}"
    assert (held["held"]["reason"], bool(held["held"]["at"])) == ("Maker asked", True)
    assert free == {"pk": units[1].pk, "label": units[1].label, "content": 1000, "serial": "S2"}


def test_open_units_of_the_days_patients_and_shared_vials(
    day, injector, desk, owner, patient, units
):
    session = make_session_with_unit(injector, patient, units[0])
    make_point(session, units[0])
    others = make_session_with_unit(
        make_user("second", is_injector=True), make_patient(desk, "Bo Li"), units[1]
    )
    make_point(others, units[1])
    (row,) = day(injector)["stock"]["opened"]
    assert (row["pk"], row["patient"], row["shared"]) == (units[0].pk, patient.pk, False)
    assert (row["drawn"], row["content"], row["state"]) == (200, 1000, "opened")


def test_each_patient_is_in_the_trail_once_a_day_and_person(day, injector, desk, patient):
    book_today(desk, patient, injector)
    for _ in range(3):
        day(injector)
    colleague = make_user("second", is_injector=True)
    book_today(desk, patient, colleague, at="11:00")
    day(colleague)
    events = AuditEvent.objects.filter(action="read.day", patient_id=patient.pk)
    assert [event.actor for event in events.order_by("id")] == [injector, colleague]
    book_today(desk, make_patient(desk, "Bo Li"), injector, at="12:00")
    day(injector)
    assert AuditEvent.objects.filter(action="read.day", actor=injector).count() == 2


def test_a_new_day_is_read_anew(day, injector, desk, patient, monkeypatch):
    make_session(injector, patient)
    day(injector)
    tomorrow = timezone.now() + timedelta(days=1)
    monkeypatch.setattr(timezone, "now", lambda: tomorrow)
    day(injector)
    assert AuditEvent.objects.filter(action="read.day").count() == 2


def test_steps_are_the_amounts_used_most_then_common_ones(day, injector, patient, units):
    session = make_session_with_unit(injector, patient, units[0])
    for amount in (30, 30, 70):
        make_point(session, units[0], amount=amount)
    (product,) = day(injector)["stock"]["products"]
    assert product["steps"] == [30, 50, 70, 100, 150, 200]


def test_diluents_are_those_the_clinic_used_for_the_product_and_no_others(day, injector, patient):
    toxin, other = (make_product(name, kind="toxin") for name in ("Toxin 1", "Toxin 2"))
    session = make_session(injector, patient)
    vials = make_units(injector, toxin, number="T1", quantity=4)
    make_units(injector, other, number="T2")
    for vial, diluent_ul in zip(vials, (2500, 1000, 2500), strict=False):
        made_up = {"diluent_ul": diluent_ul, "diluent": "saline"}
        put_on_tray(session=session, unit=vial, actor=injector, **made_up)
    told = {product["pk"]: product for product in day(injector)["stock"]["products"]}
    assert (told[toxin.pk]["diluents"], told[toxin.pk]["diluent"]) == ([1000, 2500], "saline")
    assert (told[other.pk]["diluents"], told[other.pk]["diluent"]) == ([], "")


@pytest.mark.parametrize("measure", list(Measure))
def test_steps_without_points_are_the_common_ones(measure):
    assert amount_steps(Counter(), measure) == STEPS[measure]
    assert amount_steps(Counter(range(1, 20)), measure) == [1, 2, 3, 4, 5, 6]


def queries_of(act) -> int:
    with CaptureQueriesContext(connection) as queries:
        act()
    return len(queries)


def test_day_takes_the_same_queries_for_any_number_of_patients_units_and_points(
    day, injector, desk, owner, patient, units
):
    session = make_session_with_unit(injector, patient, units[0])
    make_point(session, units[0], amount=10)
    book_today(desk, patient, injector)
    day(injector)
    few = queries_of(lambda: day(injector))
    for number in range(3):
        person = make_patient(desk, f"Patient {number}")
        make_alert(desk, person)
        book_today(desk, person, injector, at=f"1{number + 1}:00")
        make_point(session, units[0], amount=10)
    make_units(owner, make_product("Another"), number="B7", quantity=5)
    day(injector)
    assert queries_of(lambda: day(injector)) == few


def test_seal_of_the_stock_changes_with_the_stock(tablet, owner, units):
    seals = [tablet.send()["stock"]]
    make_units(owner, units[0].lot.product, number="NEW")
    seals.append(tablet.send()["stock"])
    quarantine_lot(lot=units[0].lot, reason="Maker asked", actor=owner)
    seals.append(tablet.send()["stock"])
    span = Quarantine(
        product=units[0].lot.product, serial_first="S1", serial_last="S2", reason="Maker asked"
    )
    place_quarantine(quarantine=span, actor=owner)
    seals.append(tablet.send()["stock"])
    lift_quarantine(quarantine=span, reason="Cleared", actor=owner)
    seals.append(tablet.send()["stock"])
    assert len(set(seals)) == 5
    assert tablet.send()["stock"] == seals[-1]


def test_draws_fetch_no_stock_again(tablet, session, units):
    """Each is a row of the ledger, and none of them changes what lies on the shelf."""
    before = tablet.send()["stock"]
    log = tablet.op("log", session, point_data(units[0]))
    change = tablet.op("change", session, log["data"] | {"amount": 150}, base=log["id"])
    remove = tablet.op("remove", session, {"key": log["data"]["key"]}, base=change["id"])
    answers = [tablet.send(op)["stock"] for op in (log, change, remove)]
    assert answers == [before] * 3
    kinds = StockMovement.objects.filter(unit=units[0]).values_list("kind", flat=True)
    assert list(kinds)[2:] == ["drawn", "undrawn", "drawn", "undrawn"]
    waste = tablet.op("waste", session, {"unit": units[0].pk, "amount": 5, "reason": "Primed"})
    assert tablet.send(waste)["stock"] != before


def test_product_of_which_only_an_open_unit_is_left_keeps_its_common_amounts(
    day, injector, patient
):
    """The chips of amounts went away with the last sealed syringe of a product."""
    (unit,) = make_units(injector, make_product(), quantity=1)
    make_session_with_unit(injector, patient, unit)
    (told,) = day(injector)["stock"]["products"]
    assert (told["pk"], told["lots"]) == (unit.lot.product_id, [])
    assert told["steps"] == STEPS[Measure.VOLUME]


def test_usual_amounts_are_the_middle_of_enough(day, injector, patient, units):
    session = make_session_with_unit(injector, patient, units[0])
    for amount in (10, 20, 20, 30):
        make_point(session, units[0], amount=amount)
    assert day(injector)["stock"]["products"][0]["usual"] is None
    make_point(session, units[0], amount=500)
    (product,) = day(injector)["stock"]["products"]
    assert (product["usual"], product["usual_diluent_ul"]) == (20, None)


def test_anaesthetics_are_offered_each_once_those_used_first(day, injector, patient, units):
    make_product("Anaesthetic gel", kind="anaesthetic", lidocaine_ug_per_ml=40_000)
    session = make_session(injector, patient)
    make_anaesthetic(session, product="Anaesthetic gel", method="topical")
    make_anaesthetic(session)
    make_anaesthetic(session)
    assert [(row["product"], row["method"]) for row in day(injector)["anaesthetics"]] == [
        ("Lidocaine 2 %", "block"), ("Anaesthetic gel", "topical"),
    ]  # fmt: skip
