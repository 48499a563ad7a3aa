"""A quarantine placed while a session is under way, and what was drawn in spite of it."""

from datetime import timedelta

import pytest
from django.utils import timezone

from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import (
    lift_quarantine,
    place_quarantine,
    quarantine_lot,
    release_lot,
)
from clinic.stock.models import UnitOfStock
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.queries.flags import ShownFlag, shown_flags
from records.sessions.queries.held import holds_on
from records.sessions.queries.points import session_points
from records.sessions.queries.tray import session_tray
from records.sessions.services.signing import sign_session
from records.sessions.services.tray import put_on_tray
from tests.factories import make_point, make_product, make_session_with_unit, make_units, refreshed

HOUR = timedelta(hours=1)


@pytest.fixture
def units(owner):
    return make_units(owner, make_product(), quantity=3)


@pytest.fixture
def session(injector, patient, units):
    return make_session_with_unit(injector, patient, units[0])


@pytest.fixture
def lot(units):
    return units[0].lot


def draw(session, unit, when) -> InjectionEntry:
    """A point given and stored at that moment."""
    point = make_point(session, unit)
    InjectionEntry.objects.filter(pk=point.pk).update(tapped_at=when, logged_at=when)
    return point


def flags_of(session) -> list[ShownFlag]:
    session = refreshed(session)
    shown = shown_flags(session, session_points(session), session_tray(session))
    return [flag for flag in shown if flag.label == "Quarantine"]


def test_unit_on_the_tray_is_flagged_at_once(session, lot, owner):
    assert flags_of(session) == []
    placed = quarantine_lot(lot=lot, reason="Maker\u2019s notice 7.", actor=owner)
    (flag,) = flags_of(session)
    when = timezone.localtime(placed.placed_at)
    assert flag.title == f"Lot LOT42 was put in quarantine on {when:%d %b %Y at %H:%M}."
    assert flag.text == "Maker\u2019s notice 7. Not to be injected."
    assert (flag.level, flag.points) == ("stop", ())
    assert flag.source == "quarantine of lot LOT42, placed by Olga Owner"


def test_only_what_was_drawn_after_it_is_named(session, units, lot, owner):
    draw(session, units[0], timezone.now() - HOUR)
    quarantine_lot(lot=lot, reason="Maker asked", actor=owner)
    for _ in range(2):
        draw(session, units[0], timezone.now())
    (flag,) = flags_of(session)
    assert flag.points == (2, 3)
    assert flag.text.endswith(f"2 points were drawn from unit {units[0].label} while it stood.")


def test_what_was_drawn_stays_flagged_when_it_is_signed_and_released(
    session, units, lot, owner, injector
):
    quarantine_lot(lot=lot, reason="Maker asked", actor=owner)
    draw(session, units[0], timezone.now())
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    release_lot(lot=lot, reason="Cleared by the maker.", actor=owner)
    (flag,) = flags_of(session)
    assert flag.points == (1,)
    assert "It was lifted on" in flag.text
    assert "Cleared by the maker. 1 point was drawn" in flag.text


def test_what_was_drawn_before_or_after_it_is_not_flagged_in_a_signed_session(
    session, units, lot, owner, injector
):
    draw(session, units[0], timezone.now() - HOUR)
    quarantine_lot(lot=lot, reason="Maker asked", actor=owner)
    assert len(flags_of(session)) == 1
    release_lot(lot=lot, reason="Cleared", actor=owner)
    draw(session, units[0], timezone.now())
    assert flags_of(session) == []
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    quarantine_lot(lot=lot, reason="Asked again", actor=owner)
    assert flags_of(session) == []


def test_quarantine_by_serial_number_reaches_its_unit_alone(session, units, owner, injector):
    UnitOfStock.objects.filter(pk=units[0].pk).update(serial="S1")
    UnitOfStock.objects.filter(pk=units[1].pk).update(serial="S2")
    put_on_tray(session=session, unit=units[1], actor=injector)
    product = units[0].lot.product
    span = Quarantine(product=product, serial_first="S2", serial_last="S2", reason="Cracked")
    place_quarantine(quarantine=span, actor=owner)
    (flag,) = flags_of(session)
    assert flag.title.startswith(f"Unit {units[1].label} was put in quarantine on")
    lift_quarantine(quarantine=span, reason="Sound after all", actor=owner)
    assert flags_of(session) == []


def test_unit_opened_in_spite_of_it_is_flagged_with_its_reason_alone(
    session, units, lot, owner, injector
):
    quarantine_lot(lot=lot, reason="Maker asked", actor=owner)
    put_on_tray(session=session, unit=units[1], actor=injector, deviation="Nothing else to hand")
    draw(session, units[1], timezone.now())
    held = holds_on(session, session_points(session), session_tray(session))
    assert [hold.unit for hold in held] == [units[0]]


def test_clock_that_is_ahead_accuses_nobody(session, units, lot, owner):
    """Stored before the quarantine, it was given before it, whatever the device says."""
    point = make_point(session, units[0])
    ahead = timezone.now() + HOUR
    InjectionEntry.objects.filter(pk=point.pk).update(tapped_at=ahead)
    quarantine_lot(lot=lot, reason="Maker asked", actor=owner)
    (flag,) = flags_of(session)
    assert flag.points == ()


def test_session_written_down_later_counts_by_the_time_of_its_treatment(session, units, lot, owner):
    TreatmentSession.objects.filter(pk=session.pk).update(
        started_at=timezone.now() - HOUR, late_reason="The tablet was dead"
    )
    quarantine_lot(lot=lot, reason="Maker asked", actor=owner)
    draw(session, units[0], timezone.now())
    (flag,) = flags_of(session)
    assert flag.points == ()


@pytest.mark.parametrize("count", [1, 3])
def test_it_takes_one_query_for_any_number_of_units_and_quarantines(
    session, units, owner, injector, django_assert_num_queries, count
):
    for unit in units[1:count]:
        put_on_tray(session=session, unit=unit, actor=injector)
    for number in range(count):
        span = Quarantine(product=units[0].lot.product, reason=f"Reason {number}")
        place_quarantine(quarantine=span, actor=owner)
    points, tray = list(session_points(session)), list(session_tray(session))
    with django_assert_num_queries(1):
        assert len(holds_on(session, points, tray)) == count * count


def test_empty_tray_asks_nothing(session, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert holds_on(session, [], []) == []
