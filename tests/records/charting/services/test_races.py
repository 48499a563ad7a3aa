"""Tablets at once, with real threads and real transactions, on both databases."""

import uuid
from datetime import timedelta

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import place_quarantine, quarantine_lot
from clinic.stock.enums import UnitState
from clinic.stock.models import UnitOfStock
from records.charting.models import Operation
from records.sessions.models import InjectionEntry, TreatmentSession
from tests.factories import (
    make_patient,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    make_user,
    refreshed,
)
from tests.records.charting.tablet import Tablet, open_data, point_data
from tests.records.sessions.services.test_races import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def people():
    return make_user("injector"), make_user("owner")


@pytest.fixture
def work(people):
    """A session with two units of one lot, the first open, and two tablets of its injector."""
    injector, owner = people
    units = make_units(owner, make_product(), quantity=2)
    session = make_session_with_unit(injector, make_patient(owner), units[0])
    return session, units, [Tablet(injector), Tablet(injector)]


def test_same_operation_six_times_at_once_is_stored_once(work):
    session, units, (tablet, _) = work
    op = tablet.op("log", session, point_data(units[0]))
    tablets = [Tablet(tablet.user) for _ in range(6)]
    answers = at_once([lambda each=each: each.only(op)["outcome"] for each in tablets])
    assert answers == ["applied"] * 6
    assert InjectionEntry.objects.count() == Operation.objects.count() == 1
    assert refreshed(units[0]).drawn == 200
    assert AuditEvent.objects.filter(action="point.logged").count() == 1
    assert verify_chain().intact


def test_same_start_four_times_at_once_starts_once(people):
    injector, owner = people
    patient = make_patient(owner)
    data = {"patient": patient.pk, "appointment": None, "jaw": "average"}
    tablets = [Tablet(injector) for _ in range(4)]
    op = tablets[0].op("start", uuid.uuid4(), data)
    assert at_once([lambda each=each: each.only(op)["outcome"] for each in tablets]) == (
        ["applied"] * 4
    )
    assert str(TreatmentSession.objects.get().key) == op["session"]


def test_two_tablets_starting_with_one_patient_end_with_one_session(people):
    injector, owner = people
    data = {"patient": make_patient(owner).pk, "appointment": None, "jaw": "average"}
    tablets = [Tablet(injector), Tablet(injector)]
    ops = [each.op("start", uuid.uuid4(), data) for each in tablets]
    answers = at_once(
        [lambda each=each, op=op: each.only(op) for each, op in zip(tablets, ops, strict=True)]
    )
    assert sorted(answer["outcome"] for answer in answers) == ["applied", "conflict"]
    (lost,) = [answer for answer in answers if answer["outcome"] == "conflict"]
    assert lost["conflict"]["existing"] == str(TreatmentSession.objects.get().key)


def test_two_tablets_changing_one_point_never_write_over_each_other(work):
    session, units, tablets = work
    log = tablets[0].op("log", session, point_data(units[0]))
    tablets[0].only(log)
    ops = [
        tablet.op("change", session, log["data"] | {"amount": amount}, base=log["id"])
        for tablet, amount in zip(tablets, (300, 350), strict=True)
    ]
    answers = at_once(
        [lambda each=each, op=op: each.only(op) for each, op in zip(tablets, ops, strict=True)]
    )
    assert sorted(answer["outcome"] for answer in answers) == ["applied", "conflict"]
    won = next(op for op, row in zip(ops, answers, strict=True) if row["outcome"] == "applied")
    point = InjectionEntry.objects.get()
    assert (point.amount, str(point.head)) == (won["data"]["amount"], won["id"])
    assert refreshed(units[0]).drawn == point.amount


def test_points_of_two_tablets_get_numbers_of_their_own(work):
    session, units, tablets = work
    batches = [
        [tablet.op("log", session, point_data(units[0], amount=10)) for _ in range(5)]
        for tablet in tablets
    ]
    answers = at_once(
        [
            lambda each=each, ops=ops: each.outcomes(*ops)
            for each, ops in zip(tablets, batches, strict=True)
        ]
    )
    assert answers == [["applied"] * 5] * 2
    numbers = InjectionEntry.objects.order_by("number").values_list("number", flat=True)
    assert list(numbers) == list(range(1, 11))
    assert refreshed(units[0]).drawn == 100
    assert verify_chain().intact


def stop_lot(units, owner):
    return quarantine_lot(lot=units[1].lot, reason="Maker asked to hold it", actor=owner)


def stop_serial_numbers(units, owner):
    """Both units: the open one as well is written to, while points are logged from it."""
    span = Quarantine(
        product=units[0].lot.product, serial_first="S0", serial_last="S1", reason="Maker asked"
    )
    return place_quarantine(quarantine=span, actor=owner)


@pytest.mark.parametrize(
    ("stop", "stopped"),
    [(stop_lot, "lot.quarantined"), (stop_serial_numbers, "unit.quarantined")],
)
def test_quarantine_against_opening_ends_in_one_order(work, people, stop, stopped):
    session, units, (tablet, _) = work
    for number, unit in enumerate(units):
        UnitOfStock.objects.filter(pk=unit.pk).update(serial=f"S{number}")
    log = tablet.op("log", session, point_data(units[0]))
    op = tablet.op("open", session, open_data(units[1]))
    _, owner = people
    held, (logged, opened) = at_once([lambda: stop(units, owner), lambda: tablet.outcomes(log, op)])
    assert isinstance(held, Quarantine)
    assert logged == "applied"
    order = AuditEvent.objects.filter(action__in=[stopped, "unit.on_tray"])
    actions = [event.action for event in order.order_by("id")]
    assert refreshed(units[1]).is_quarantined
    if opened == "applied":
        assert refreshed(units[1]).state == UnitState.OPENED
        assert actions.index(stopped) > actions.index("unit.on_tray", 1)
    else:
        assert opened == "conflict"
        assert refreshed(units[1]).state == UnitState.IN_STOCK
        assert actions.count("unit.on_tray") == 1


def test_batches_that_take_units_crosswise_both_go_through(people):
    """Two sessions share two vials, and each draws from them in another order."""
    injector, owner = people
    toxin = make_product("Toxin", kind="toxin", content=10_000, is_single_patient=False)
    vials = make_units(owner, toxin, quantity=2)
    second = make_user("second", is_injector=True)
    tablets, batches = [], []
    for person, name, order in [(injector, "Ann", vials), (second, "Bo", vials[::-1])]:
        session = make_session_with_unit(person, make_patient(owner, name), vials[0])
        tablet = Tablet(person)
        tablet.only(tablet.op("open", session, open_data(vials[1], no_diluent=True)))
        tablets.append(tablet)
        batches.append(
            [
                tablet.op("log", session, point_data(vial, amount=400, plane="intramuscular"))
                for vial in [*order, *order]
            ]
        )
    answers = at_once(
        [
            lambda each=each, ops=ops: each.outcomes(*ops)
            for each, ops in zip(tablets, batches, strict=True)
        ]
    )
    assert answers == [["applied"] * 4] * 2
    assert [refreshed(vial).drawn for vial in vials] == [1600, 1600]


def test_giving_up_against_arriving_ends_in_one_of_both(work):
    session, units, (tablet, other) = work
    log = tablet.op("log", session, point_data(units[0]))
    give_up = other.op("withdraw", session, {"operation": log["id"]})
    stored, given_up = at_once([lambda: tablet.only(log), lambda: other.only(give_up)])
    if stored["outcome"] == "applied":
        assert given_up["outcome"] == "refused"
        assert InjectionEntry.objects.count() == 1
    else:
        assert (stored["outcome"], given_up["outcome"]) == ("withdrawn", "applied")
        assert not InjectionEntry.objects.exists()


def test_setting_aside_against_a_point_ends_in_one_order(people):
    """Whoever comes second is asked; the point is never in a session that was set aside."""
    injector, owner = people
    unit = make_units(owner, make_product())[0]
    session = make_session(injector, make_patient(owner))
    tablet, other = Tablet(injector), Tablet(injector)
    opening = tablet.op("open", session, open_data(unit))
    log = tablet.op("log", session, point_data(unit))
    aside = other.op("set_aside", session, {})
    charted, set_aside = at_once(
        [lambda: tablet.outcomes(opening, log), lambda: other.only(aside)["outcome"]]
    )
    assert refreshed(session).is_set_aside == (set_aside == "applied")
    if set_aside == "applied":
        assert charted == ["conflict", "conflict"]
        assert not InjectionEntry.objects.exists()
    else:
        assert (charted, set_aside) == (["applied", "applied"], "conflict")
        assert InjectionEntry.objects.count() == 1
    assert verify_chain().intact


def test_skewed_tablets_keep_their_own_order(people):
    injector, owner = people
    unit = make_units(owner, make_product())[0]
    session = make_session_with_unit(injector, make_patient(owner), unit)
    tablet = Tablet(injector)
    first = tablet.op("log", session, point_data(unit, amount=10))
    tablet.slow_by = timedelta(hours=2)
    second = tablet.op("log", session, point_data(unit, amount=20))
    assert second["made_at"] < first["made_at"]
    tablet.send(first, second, sent_at=timezone.now())
    amounts = InjectionEntry.objects.order_by("number").values_list("amount", flat=True)
    assert list(amounts) == [10, 20]
