"""Opening units: hard stops before the needle, and writing down what was done all the same."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from clinic.quarantine.services import quarantine_lot
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.services import lock_unit, move_unit
from records.sessions.errors import OpeningRefused, Overdrawn, SessionError
from records.sessions.models import Opening, TreatmentSession
from records.sessions.queries.flags import shown_flags
from records.sessions.queries.points import session_points
from records.sessions.queries.tray import (
    lot_against,
    opened_units,
    sealed_units,
    session_tray,
)
from records.sessions.services.signing import sign_session
from records.sessions.services.sittings import start_session
from records.sessions.services.tray import put_on_tray, record_waste, take_off_tray
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
def filler(db):
    return make_product()


@pytest.fixture
def toxin(db):
    return make_product(
        "Toxin 100", kind="toxin", content=10_000, is_single_patient=False,
        lidocaine_ug_per_ml=0, hours_after_opening=24,
    )  # fmt: skip


def test_opening_binds_a_single_patient_unit(session, filler, owner, injector):
    unit = make_units(owner, filler)[0]
    put_on_tray(session=session, unit=unit, actor=injector)
    assert refreshed(unit).state == UnitState.OPENED
    assert unit.opening.patient == session.patient


def test_opening_twice_changes_nothing(session, filler, owner, injector):
    unit = make_units(owner, filler)[0]
    first = put_on_tray(session=session, unit=unit, actor=injector)
    assert put_on_tray(session=session, unit=unit, actor=injector).pk == first.pk


def test_expired_unit_is_refused_with_lot_and_day(session, filler, owner, injector):
    unit = make_units(owner, filler, number="OLD", expires_on=date(2020, 1, 31))[0]
    with pytest.raises(OpeningRefused, match="Lot OLD of HA filler 1 mL expired on 31 Jan 2020"):
        put_on_tray(session=session, unit=unit, actor=injector)
    assert refreshed(unit).state == UnitState.IN_STOCK


def test_printed_expiry_day_itself_is_usable(session, filler, owner, injector):
    """GS1 General Specifications, AI 17: usable through the end of the printed day."""
    unit = make_units(owner, filler, expires_on=timezone.localdate())[0]
    assert put_on_tray(session=session, unit=unit, actor=injector).pk


def test_quarantined_unit_is_refused_with_the_reason(session, filler, owner, injector):
    unit = make_units(owner, filler)[0]
    quarantine_lot(lot=unit.lot, reason="Maker asked to hold it", actor=owner)
    with pytest.raises(OpeningRefused, match="in quarantine: Maker asked to hold it"):
        put_on_tray(session=session, unit=unit, actor=injector)


def test_another_patients_unit_is_refused(session, filler, owner, injector, desk):
    unit = make_units(owner, filler)[0]
    make_session_with_unit(injector, make_patient(desk, "Bo Li"), unit)
    with pytest.raises(OpeningRefused, match="opened for another patient"):
        put_on_tray(session=session, unit=unit, actor=injector)


def test_vial_past_its_hours_is_refused(session, toxin, owner, injector):
    vial = make_units(owner, toxin)[0]
    put_on_tray(session=session, unit=vial, actor=injector, diluent_ul=2500)
    take_off = timezone.now() - timedelta(minutes=1)
    Opening.objects.filter(unit=vial).update(use_before=take_off)
    session.tray.all().delete()
    with pytest.raises(OpeningRefused, match="was to be used before"):
        put_on_tray(session=session, unit=vial, actor=injector)


def test_vial_whose_hours_end_while_the_session_runs_is_refused(session, toxin, owner, injector):
    """The stop comes before the needle: it is judged by the clock, not by the session's start."""
    vial = make_units(owner, toxin)[0]
    put_on_tray(session=session, unit=vial, actor=injector, diluent_ul=2500)
    now = timezone.now()
    TreatmentSession.objects.filter(pk=session.pk).update(started_at=now - timedelta(hours=2))
    Opening.objects.filter(unit=vial).update(use_before=now - timedelta(hours=1))
    session.tray.all().delete()
    with pytest.raises(OpeningRefused, match="was to be used before"):
        put_on_tray(session=session, unit=vial, actor=injector)


def test_late_entry_is_judged_by_the_time_of_the_treatment(patient, filler, owner, injector):
    unit = make_units(owner, filler, expires_on=timezone.localdate() - timedelta(days=2))[0]
    session = start_session(
        patient=patient, injector=injector, started_at=timezone.now() - timedelta(days=3),
        late_reason="Tablet was flat", jaw="average",
    )  # fmt: skip
    assert put_on_tray(session=session, unit=unit, actor=injector).deviation == ""


@pytest.mark.usefixtures("patient_agrees")
def test_what_was_done_can_be_written_down_and_is_flagged(session, filler, owner, injector):
    unit = make_units(owner, filler, number="OLD", expires_on=date(2020, 1, 31))[0]
    put_on_tray(session=session, unit=unit, actor=injector, deviation="Noticed afterwards")
    make_point(session, unit)
    flags = shown_flags(session, session_points(session), session_tray(session))
    assert flags[0].level == "stop"
    assert flags[0].text == "Reason given: Noticed afterwards"
    assert flags[0].points == (1,)


def test_a_unit_that_a_count_missed_is_refused_or_found_again_by_its_use(
    session, filler, owner, injector
):
    unit = make_units(owner, filler)[0]
    move_unit(lock_unit(unit.pk), MovementKind.MISSING, amount=1000, reason="Count", actor=owner)
    with pytest.raises(OpeningRefused, match="was missing at the last stock count"):
        put_on_tray(session=session, unit=unit, actor=injector)
    row = put_on_tray(session=session, unit=unit, actor=injector, deviation="In my coat")
    assert (row.deviation, refreshed(unit).state) == ("In my coat", UnitState.OPENED)
    told = unit.movements.order_by("id").values_list("kind", "reason")
    assert list(told) == [
        ("received", ""), ("missing", "Count"), ("found", "In my coat"), ("opened", "In my coat"),
    ]  # fmt: skip


def test_reason_without_need_leaves_no_flag(session, filler, owner, injector):
    unit = make_units(owner, filler)[0]
    row = put_on_tray(session=session, unit=unit, actor=injector, deviation="Just in case")
    assert row.deviation == ""


def test_empty_unit_is_refused(session, filler, owner, injector):
    unit = make_units(owner, filler)[0]
    put_on_tray(session=session, unit=unit, actor=injector)
    make_point(session, unit, amount=1000)
    sign_session(session=session, remainders={}, actor=injector)
    again = make_session(injector, session.patient)
    with pytest.raises(OpeningRefused, match="empty or has left the stock"):
        put_on_tray(session=again, unit=unit, actor=injector)


def test_shared_vial_carries_diluent_and_hours(session, toxin, owner, injector):
    vial = make_units(owner, toxin)[0]
    put_on_tray(session=session, unit=vial, actor=injector, diluent_ul=2500)
    opening = vial.opening
    assert (opening.patient, opening.diluent_ul) == (None, 2500)
    assert opening.use_before - opening.opened_at == timedelta(hours=24)


def test_unused_unit_returns_to_the_stock_unopened(session, filler, owner, injector):
    unit = make_units(owner, filler)[0]
    put_on_tray(session=session, unit=unit, actor=injector)
    take_off_tray(session=session, unit=unit, actor=injector)
    assert refreshed(unit).state == UnitState.IN_STOCK
    assert not Opening.objects.filter(unit=unit).exists()


def test_used_unit_stays_on_the_tray(session, filler, owner, injector):
    unit = make_units(owner, filler)[0]
    put_on_tray(session=session, unit=unit, actor=injector)
    make_point(session, unit)
    with pytest.raises(SessionError, match="was used"):
        take_off_tray(session=session, unit=unit, actor=injector)


def test_vial_on_another_tray_is_not_put_back(session, toxin, owner, injector, desk):
    vial = make_units(owner, toxin)[0]
    put_on_tray(session=session, unit=vial, actor=injector)
    make_session_with_unit(injector, make_patient(desk, "Bo Li"), vial)
    with pytest.raises(SessionError, match="in use in another session"):
        take_off_tray(session=session, unit=vial, actor=injector)


def test_waste_counts_against_the_content(session, filler, owner, injector):
    unit = make_units(owner, filler)[0]
    put_on_tray(session=session, unit=unit, actor=injector)
    record_waste(session=session, unit=unit, amount=30, reason="Priming", actor=injector)
    assert (refreshed(unit).wasted, unit.remaining) == (30, 970)
    with pytest.raises(Overdrawn, match=r"0\.97 mL remain"):
        record_waste(session=session, unit=unit, amount=971, reason="Priming", actor=injector)


@pytest.mark.parametrize("reason", ["", "  "])
def test_waste_needs_a_reason(session, filler, owner, injector, reason):
    unit = make_units(owner, filler)[0]
    put_on_tray(session=session, unit=unit, actor=injector)
    with pytest.raises(SessionError, match="Say why"):
        record_waste(session=session, unit=unit, amount=30, reason=reason, actor=injector)


def test_sealed_units_stand_first_expired_first(filler, owner):
    make_units(owner, filler, number="LATE", expires_on=date(2031, 1, 1), quantity=1)
    make_units(owner, filler, number="SOON", expires_on=date(2030, 1, 1), quantity=2)
    gone = make_units(owner, filler, number="GONE", expires_on=date(2020, 1, 1), quantity=1)[0]
    offered = [unit.lot.number for unit in sealed_units()]
    assert offered == ["GONE", "SOON", "SOON", "LATE"]
    assert lot_against(gone.lot, timezone.localdate()) == [
        "Lot GONE of HA filler 1 mL expired on 01 Jan 2020."
    ]


def test_open_units_offered_are_kept_ones_and_shared_vials(
    session, filler, toxin, owner, injector, desk
):
    kept, others = make_units(owner, filler, quantity=2)
    vial = make_units(owner, toxin, number="T1", quantity=1)[0]
    for unit in (kept, vial):
        put_on_tray(session=session, unit=unit, actor=injector)
        make_point(session, unit, amount=100)
    make_session_with_unit(injector, make_patient(desk, "Bo Li"), others)
    assert set(opened_units([session.patient_id])) == {kept, vial}
    assert set(opened_units([])) == {vial}
