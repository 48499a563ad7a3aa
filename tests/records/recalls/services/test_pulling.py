"""Units are set apart, and leave before a witness; a drill only ticks."""

import pytest

from clinic.audit.models import AuditEvent
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import StockMovement
from clinic.stock.services import take_out_of_stock
from records.recalls.errors import OnlyADrill, RecallError
from records.recalls.services.pulling import let_go, note_not_found, set_apart
from records.sessions.queries.balances import unit_checks
from tests.factories import make_patient, make_place, make_session_with_unit, make_user, refreshed
from tests.records.recalls.cases import make_case, span

pytestmark = pytest.mark.django_db


def ids(case) -> list[int]:
    return list(case.units.order_by("unit_id").values_list("pk", flat=True))


def gone(case, units, owner, **fields):
    fields = {
        "kind": MovementKind.RETURNED, "witness": "Dora Desk", "reason": "Sent to the maker",
        **fields,
    }  # fmt: skip
    return let_go(case=case, units=units, actor=owner, **fields)


def test_a_unit_set_apart_says_by_whom_and_lies_in_its_new_place(owner, case, units):
    apart = make_place("Recall box", site="Main", kind="apart")
    first, *_ = ids(case)
    set_apart(case=case, units=[first], place=apart, actor=owner)
    row = case.units.get(pk=first)
    assert (row.pulled_by, row.pulled_at is not None) == (owner, True)
    assert refreshed(units[2]).place == apart
    assert units[2].movements.last().kind == MovementKind.MOVED
    set_apart(case=case, units=[first], actor=make_user("somebody", is_owner=True))
    assert refreshed(row).pulled_by == owner, "ticked once"


def test_a_unit_that_was_not_there_says_where_it_was_looked_for(owner, case):
    first, *_ = ids(case)
    with pytest.raises(RecallError, match="Say where"):
        note_not_found(case=case, unit=first, looked_in=" ", actor=owner)
    note_not_found(case=case, unit=first, looked_in="Fridge 1 and room 2", actor=owner)
    assert case.units.get(pk=first).not_found == "Fridge 1 and room 2"
    set_apart(case=case, units=[first], actor=owner)
    assert case.units.get(pk=first).not_found == "", "it turned up"
    with pytest.raises(RecallError, match="meanwhile"):
        note_not_found(case=case, unit=first, looked_in="Again", actor=owner)


def test_units_leave_before_a_witness_with_a_row_of_the_ledger(owner, case, units):
    first, second, third = ids(case)
    set_apart(case=case, units=[first, second], actor=owner)
    gone(case, [first, second], owner)
    for unit in units[2:4]:
        movement = unit.movements.last()
        assert (movement.kind, movement.witness, movement.reason) == (
            MovementKind.RETURNED, "Dora Desk", "Recall R0001: Sent to the maker",
        )  # fmt: skip
        assert case.units.get(unit=unit).movement == movement
        assert refreshed(unit).state == UnitState.RETURNED
    with pytest.raises(RecallError, match="none was taken out"):
        gone(case, [third], owner)
    assert [check for check in unit_checks() if check.fault] == []
    assert AuditEvent.objects.filter(action="recall.unit_left").count() == 2


@pytest.mark.parametrize("note", ["", "  "])
def test_without_a_note_the_reason_is_the_recall_alone(owner, case, units, note):
    row = case.units.get(unit=units[2])
    set_apart(case=case, units=[row.pk], actor=owner)
    gone(case, [row.pk], owner, reason=note)
    assert units[2].movements.last().reason == "Recall R0001"


def test_what_is_left_in_an_opened_unit_is_destroyed_not_returned(
    owner, desk, injector, product, units
):
    session = make_session_with_unit(injector, make_patient(desk), units[0])
    case = make_case(owner, span(product))
    row = case.units.get(unit=units[0])
    set_apart(case=case, units=[row.pk], actor=owner)
    with pytest.raises(RecallError, match="destroyed, not returned"):
        gone(case, [row.pk], owner)
    gone(case, [row.pk], owner, kind=MovementKind.WRITTEN_OFF, reason="Into the sharps bin")
    movement = refreshed(row).movement
    assert (movement.kind, movement.amount, movement.witness) == ("wasted", 1000, "Dora Desk")
    assert refreshed(units[0]).is_empty
    assert session.is_open


def test_one_unit_that_cannot_leave_keeps_all_of_them(owner, case, units):
    rows = ids(case)
    set_apart(case=case, units=rows, actor=owner)
    take_out_of_stock(unit=units[4], kind=MovementKind.RETURNED, reason="By itself", actor=owner)
    with pytest.raises(RecallError, match="none was taken out"):
        gone(case, rows, owner)
    assert StockMovement.objects.filter(kind=MovementKind.RETURNED).count() == 1


@pytest.mark.parametrize(
    ("fields", "words"),
    [({"witness": " "}, "Name who saw it"), ({"units": []}, "Tick the units")],
)
def test_nothing_leaves_without_a_witness_or_a_choice(owner, case, fields, words):
    set_apart(case=case, units=ids(case), actor=owner)
    with pytest.raises(RecallError, match=words):
        gone(case, fields.pop("units", ids(case)), owner, **fields)


@pytest.mark.parametrize("witness", ["Olga Owner", " olga  owner ", "OWNER", "Ólga"])
def test_nobody_is_their_own_witness(owner, case, witness):
    set_apart(case=case, units=ids(case), actor=owner)
    with pytest.raises(RecallError, match="is you: name the second person"):
        gone(case, ids(case), owner, witness=witness)
    gone(case, ids(case), owner, witness="Olga Other")


def test_a_drill_ticks_and_nothing_moves_or_leaves(owner, drill, units):
    apart = make_place("Recall box", site="Main", kind="apart")
    rows = ids(drill)
    set_apart(case=drill, units=rows, place=apart, actor=owner)
    assert drill.units.filter(pulled_at__isnull=False).count() == 3
    assert refreshed(units[2]).place is None
    with pytest.raises(OnlyADrill, match="nothing leaves the stock"):
        gone(drill, rows, owner)
