"""What a quarantine reaches, as the pages and the pull list show it."""

from datetime import date

import pytest

from clinic.quarantine.models import Quarantine
from clinic.quarantine.queries import quarantines_of, reach_of, standing_quarantines
from clinic.quarantine.services import lift_quarantine
from clinic.receiving.services import DeliveryLine, receive
from clinic.stock.enums import MovementKind
from clinic.stock.models import Lot
from clinic.stock.services import take_out_of_stock
from tests.factories import (
    make_place,
    make_product,
    make_quarantine,
    make_session_with_unit,
    make_units,
)

EXPIRY = date(2030, 6, 30)


@pytest.fixture
def product(db):
    return make_product()


def came(owner, product, number: str, *serials: str, place=None):
    line = DeliveryLine(product, number, EXPIRY, len(serials), place=place, serials=serials)
    return receive(lines=[line], actor=owner)[0]


def of(product, **span) -> Quarantine:
    return Quarantine(product=product, reason="Letter", **span)


def numbers(lots) -> list[str]:
    return [lot.number for lot in lots]


def test_lots_and_units_are_counted_and_what_is_gone_apart(product, owner, injector, patient):
    units = make_units(owner, product, number="A15", quantity=4)
    make_units(owner, product, number="B99", quantity=1)
    make_session_with_unit(injector, patient, units[0])
    take_out_of_stock(unit=units[1], kind=MovementKind.RETURNED, reason="Twice", actor=owner)
    reach = reach_of(of(product, lot_first="A10", lot_last="A20"))
    assert numbers(row.lot for row in reach.lots) == ["A15"]
    assert ([unit.label for unit in reach.on_hand], [unit.label for unit in reach.opened]) == (
        ["U000003", "U000004"], ["U000001"],
    )  # fmt: skip
    assert reach.gone == 1


def test_units_are_listed_place_by_place_those_without_one_last(product, owner):
    cupboard, fridge = make_place("Cupboard"), make_place("A shelf")
    came(owner, product, "L1", "1", "2")
    came(owner, product, "L2", "3", place=cupboard)
    came(owner, product, "L3", "4", place=fridge)
    came(owner, product, "L1", "5", place=cupboard)
    shelves = reach_of(of(product)).shelves
    assert [(shelf.place, [unit.serial for unit in shelf.units]) for shelf in shelves] == [
        (fridge, ["4"]), (cupboard, ["3", "5"]), (None, ["1", "2"]),
    ]  # fmt: skip


def test_what_a_person_has_to_compare_is_named(product, owner):
    for number in ("A15", "15", "B15"):
        make_units(owner, product, number=number, quantity=1)
    reach = reach_of(of(product, lot_first="A10", lot_last="A20"))
    assert numbers(reach.unclear_lots) == ["15"]
    assert numbers(row.lot for row in reach.lots) == ["A15", "15"]


def test_a_lot_that_looks_like_the_one_named_is_asked_about_and_not_held(product, owner):
    for number in ("LOT42", "L0T42", "lot42", "LOT43"):
        make_units(owner, product, number=number, quantity=1)
    make_units(owner, make_product("Other"), number="L0T42", quantity=1)
    reach = reach_of(of(product, lot_first="LOT42", lot_last="LOT42"))
    assert numbers(row.lot for row in reach.lots) == ["LOT42"]
    assert [(lot.number, lot.product_id) for lot in reach.alike] == [
        ("L0T42", product.pk), ("lot42", product.pk),
    ]  # fmt: skip


def test_by_serial_number_the_units_inside_and_those_nobody_noted(product, owner):
    came(owner, product, "A1", "99", "100", "105", "", "X7")
    reach = reach_of(of(product, serial_first="100", serial_last="105"))
    assert [unit.serial for unit in reach.on_hand] == ["100", "105", "", "X7"]
    assert [unit.serial for unit in reach.unclear_units] == ["", "X7"]


def test_used_units_are_counted_by_their_serial_numbers(product, owner):
    units = came(owner, product, "A1", "99", "100", "101")
    for unit in units:
        take_out_of_stock(unit=unit, kind=MovementKind.RETURNED, reason="Recall", actor=owner)
    assert reach_of(of(product, serial_first="100", serial_last="105")).gone == 2


def test_a_lot_of_which_nothing_came_yet_reaches_nothing(product):
    reach = reach_of(of(product, lot_first="NEW1", lot_last="NEW1"))
    assert (reach.lots, reach.gone, reach.shelves) == ([], 0, [])


def test_reaching_takes_as_many_queries_for_many_lots(product, owner, django_assert_num_queries):
    for number in range(12):
        came(owner, product, f"A{number}", "1", "2")
    with django_assert_num_queries(3):
        reach = reach_of(of(product))
    assert len(reach.shelves[0].units) == 24


def test_the_list_says_how_much_each_holds(owner, django_assert_num_queries):
    soft, deep = make_product("Soft"), make_product("Deep")
    came(owner, soft, "A1", "1", "2")
    came(owner, soft, "A2", "1")
    came(owner, deep, "D1", "100", "200", "300")
    whole = make_quarantine(owner, soft)
    part = make_quarantine(owner, deep, serial_first="100", serial_last="250")
    over = make_quarantine(owner, deep)
    lift_quarantine(quarantine=over, reason="Answered", actor=owner)
    with django_assert_num_queries(3):
        rows = standing_quarantines()
    assert [(row.quarantine, row.lots, row.on_hand, row.opened) for row in rows] == [
        (part, 1, 2, 0), (whole, 2, 3, 0),
    ]  # fmt: skip


def test_a_lot_has_its_quarantines_the_standing_ones_first(product, owner):
    make_units(owner, product, number="A15")
    old = make_quarantine(owner, product, lot_first="A15", lot_last="A15")
    make_quarantine(owner, product, lot_first="A16", lot_last="A16")
    wide = make_quarantine(owner, product, lot_first="A10", lot_last="A20")
    lift_quarantine(quarantine=wide, reason="Answered", actor=owner)
    assert quarantines_of(Lot.objects.get()) == [old, wide]
