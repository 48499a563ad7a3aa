"""Writes to the stock: what they refuse, and what the trail and the ledger keep."""

from datetime import date

import pytest

from clinic.audit.models import AuditEvent
from clinic.audit.services import acting
from clinic.quarantine.services import quarantine_lot, release_lot
from clinic.receiving.services import receive_lot
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.errors import StockError, UnitNotAvailable
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from clinic.stock.queries import LotStock, lookalike_numbers, lot_stock, stock_by_lot
from clinic.stock.services import (
    lock_unit,
    move_unit,
    put_elsewhere,
    take_out_of_stock,
    waste,
)
from tests.factories import (
    make_place,
    make_product,
    make_session_with_unit,
    make_units,
    refreshed,
)

EXPIRY = date(2030, 6, 30)


def last_event() -> AuditEvent:
    return AuditEvent.objects.first()


def test_each_unit_gets_its_own_label_and_a_row_in_the_ledger(owner):
    units = make_units(owner, make_product(), quantity=3)
    labels = [unit.label for unit in units]
    assert labels == ["U000001", "U000002", "U000003"]
    rows = StockMovement.objects.values_list("unit__label", "kind", "amount", "by")
    assert list(rows) == [(label, MovementKind.RECEIVED, 1000, owner.pk) for label in labels]
    assert lot_stock(units[0].lot) == LotStock(received=3, on_hand=3)


def test_a_second_delivery_of_a_lot_adds_to_it(owner):
    product = make_product()
    first, second = make_units(owner, product), make_units(owner, product)
    assert first[0].lot_id == second[0].lot_id
    assert Lot.objects.count() == 1
    assert UnitOfStock.objects.count() == 4


def test_two_products_may_share_a_lot_number(owner):
    one = make_units(owner, make_product("One"))
    other = make_units(owner, make_product("Other"))
    assert one[0].lot.number == other[0].lot.number
    assert one[0].lot_id != other[0].lot_id


@pytest.mark.parametrize("number", ["LOT 42", "LOT#42", "", "A" * 21, "LÖT"])
def test_what_is_no_lot_number_is_refused(owner, number):
    with pytest.raises(StockError, match="lot number"):
        receive_lot(
            product=make_product(), number=number, expires_on=EXPIRY, quantity=1, actor=owner
        )
    assert not Lot.objects.exists()


@pytest.mark.parametrize("number", ["lot42", "L0T42", "007", 'B-1/2?"'])
def test_a_lot_number_is_stored_exactly(owner, number):
    (unit,) = make_units(owner, make_product(), number=number, quantity=1)
    assert refreshed(unit.lot).number == number


@pytest.mark.parametrize("quantity", [0, -1, 501])
def test_a_quantity_outside_1_to_500_is_refused(owner, quantity):
    with pytest.raises(StockError, match="1 to 500"):
        make_units(owner, make_product(), quantity=quantity)


def test_another_expiry_date_for_a_known_lot_is_refused(owner):
    product = make_product()
    make_units(owner, product, expires_on=EXPIRY)
    with pytest.raises(StockError, match="known with the expiry 30 Jun 2030, not 31 Jul 2030"):
        make_units(owner, product, expires_on=date(2030, 7, 31))
    assert UnitOfStock.objects.count() == 2


def test_near_matches_are_of_the_same_product_only(owner):
    product, other = make_product("One"), make_product("Other")
    for number in ("LOT42", "L0T42", "B9"):
        make_units(owner, product, number=number, quantity=1)
    make_units(owner, other, number="lot42", quantity=1)
    assert lookalike_numbers(product, "lot42") == ["L0T42", "LOT42"]
    assert lookalike_numbers(product, "LOT42") == ["L0T42"]
    assert lookalike_numbers(product, "LOT43") == []


def test_quarantine_and_release_need_a_reason_and_keep_it(owner):
    (unit, _) = make_units(owner, make_product())
    lot = unit.lot
    with pytest.raises(StockError, match="Say why"):
        quarantine_lot(lot=lot, reason="  ", actor=owner)
    assert not refreshed(lot).is_quarantined
    quarantine_lot(lot=lot, reason="Safety notice", actor=owner)
    assert refreshed(lot).quarantine_reason == "Safety notice"
    with pytest.raises(StockError, match="already in quarantine"):
        quarantine_lot(lot=lot, reason="Again", actor=owner)
    release_lot(lot=lot, reason="Answered by the maker", actor=owner)
    assert not refreshed(lot).is_quarantined
    assert last_event().action == "lot.released"
    assert "Answered by the maker" in last_event().data


def test_a_quarantined_lot_takes_no_delivery(owner):
    product = make_product()
    (unit, _) = make_units(owner, product)
    quarantine_lot(lot=unit.lot, reason="Safety notice", actor=owner)
    with pytest.raises(StockError, match="in quarantine: Safety notice"):
        make_units(owner, product)


@pytest.mark.parametrize("kind", [MovementKind.RETURNED, MovementKind.WRITTEN_OFF])
def test_a_unit_leaves_the_stock_with_a_reason(owner, kind):
    unit, other = make_units(owner, make_product())
    with pytest.raises(StockError, match="Say why"):
        take_out_of_stock(unit=unit, kind=kind, reason=" ", actor=owner)
    take_out_of_stock(unit=unit, kind=kind, reason="Box damaged", actor=owner)
    assert refreshed(unit).state == kind
    assert refreshed(other).state == UnitState.IN_STOCK
    movement = unit.movements.last()
    assert (movement.kind, movement.amount, movement.reason) == (kind, 1000, "Box damaged")
    with pytest.raises(UnitNotAvailable):
        take_out_of_stock(unit=unit, kind=kind, reason="Twice", actor=owner)


def test_only_leaving_movements_take_a_unit_out(owner):
    unit, _ = make_units(owner, make_product())
    with pytest.raises(StockError, match="does not take a unit out"):
        take_out_of_stock(unit=unit, kind=MovementKind.WASTED, reason="Spilt", actor=owner)


def test_an_opened_unit_cannot_be_returned(owner, injector, patient):
    unit, _ = make_units(owner, make_product())
    make_session_with_unit(injector, patient, unit)
    with pytest.raises(UnitNotAvailable, match="is opened"):
        take_out_of_stock(unit=unit, kind=MovementKind.RETURNED, reason="Not needed", actor=owner)
    assert refreshed(unit).state == UnitState.OPENED


def test_received_is_on_hand_opened_returned_and_written_off(owner):
    units = make_units(owner, make_product(), quantity=6)
    take_out_of_stock(unit=units[0], kind=MovementKind.RETURNED, reason="Damaged", actor=owner)
    for unit in units[1:3]:
        take_out_of_stock(unit=unit, kind=MovementKind.WRITTEN_OFF, reason="Fell", actor=owner)
    with acting(owner) as trail:
        opened = lock_unit(units[3].pk)
        move_unit(opened, MovementKind.OPENED, amount=1000, actor=owner)
        waste(unit=opened, amount=200, reason="Left in the hub", actor=owner, trail=trail)
    found = lot_stock(units[0].lot)
    assert found == LotStock(
        received=6, on_hand=2, opened=1, returned=1, written_off=2, drawn=0, wasted=200
    )
    assert stock_by_lot([units[0].lot]) == {units[0].lot_id: found}


@pytest.fixture
def places(db):
    return [make_place(name, site="Larkstone") for name in ("Fridge", "Room 1")]


def test_a_unit_that_is_moved_lies_there_and_the_ledger_says_so(owner, places):
    (unit,) = make_units(owner, make_product(), quantity=1)
    put_elsewhere(unit=unit, place=places[0], actor=owner, reason="Delivered")
    put_elsewhere(unit=unit, place=places[1], actor=owner)
    assert refreshed(unit).place == places[1]
    moves = StockMovement.objects.filter(kind=MovementKind.MOVED)
    assert list(moves.values_list("place", "amount", "reason", "by")) == [
        (places[0].pk, 1000, "Delivered", owner.pk),
        (places[1].pk, 1000, "", owner.pk),
    ]
    assert '"before":{"place":"Larkstone, Fridge"}' in last_event().data


def test_a_unit_is_not_moved_to_where_it_lies_or_out_of_the_bin(owner, places):
    (unit,) = make_units(owner, make_product(), quantity=1)
    put_elsewhere(unit=unit, place=places[0], actor=owner)
    with pytest.raises(StockError, match="lies there already: Larkstone, Fridge"):
        put_elsewhere(unit=unit, place=places[0], actor=owner)
    take_out_of_stock(unit=unit, kind=MovementKind.WRITTEN_OFF, reason="Broken", actor=owner)
    with pytest.raises(UnitNotAvailable, match="is written off"):
        put_elsewhere(unit=unit, place=places[1], actor=owner)
    assert StockMovement.objects.filter(kind=MovementKind.MOVED).count() == 1


def test_who_saw_it_leave_stands_in_the_ledger_and_in_the_trail(owner):
    (unit,) = make_units(owner, make_product(), quantity=1)
    movement = take_out_of_stock(
        unit=unit, kind=MovementKind.RETURNED, reason="Recalled", actor=owner, witness="Bo Li"
    )
    assert (movement.witness, movement.reason) == ("Bo Li", "Recalled")
    assert '"after":{"witness":"Bo Li"}' in last_event().data


def test_what_was_missing_at_a_count_can_be_found_again(owner):
    (unit,) = make_units(owner, make_product(), quantity=1)
    for kind, state in [(MovementKind.MISSING, UnitState.MISSING),
                        (MovementKind.FOUND, UnitState.IN_STOCK)]:  # fmt: skip
        with acting(owner):
            move_unit(lock_unit(unit.pk), kind, amount=1000, actor=owner, reason="Counted")
        assert refreshed(unit).state == state
    with acting(owner), pytest.raises(UnitNotAvailable, match="is in stock, so it cannot be found"):
        move_unit(lock_unit(unit.pk), MovementKind.FOUND, amount=1000, actor=owner, reason="Again")
