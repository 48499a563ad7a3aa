"""Stopping and releasing: what is held, what is refused, and what the trail keeps."""

from datetime import date

import pytest

from clinic.audit.models import AuditEvent
from clinic.quarantine.errors import QuarantineError
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import (
    lift_quarantine,
    place_quarantine,
    quarantine_lot,
    release_lot,
)
from clinic.receiving.services import receive_lot
from clinic.stock.errors import StockError
from clinic.stock.models import Lot, UnitOfStock
from tests.factories import make_product, make_units, refreshed

EXPIRY = date(2030, 6, 30)


def stop(owner, product, reason="Maker's letter", **span) -> Quarantine:
    quarantine = Quarantine(product=product, reason=reason, **span)
    return place_quarantine(quarantine=quarantine, actor=owner)


def lots(owner, product, *numbers: str) -> None:
    for number in numbers:
        make_units(owner, product, number=number, quantity=1)


def held() -> list[str]:
    return sorted(Lot.objects.quarantined().values_list("number", flat=True))


def held_serials() -> list[str]:
    units = UnitOfStock.objects.filter(quarantined_at__isnull=False).order_by("id")
    return list(units.values_list("serial", flat=True))


# What `within` says of a number is checked in tests/planning/test_code_ranges.py.


def test_a_range_holds_the_lots_inside_and_those_that_cannot_be_compared(owner):
    product, other = make_product("One"), make_product("Other")
    lots(owner, product, "A09", "A10", "A15", "A20", "A21", "15", "B15", "a15")
    lots(owner, other, "A15")
    stop(owner, product, lot_first="A10", lot_last="A20")
    # "15" is built otherwise, "a15" could be a misprint: a person has to compare both.
    assert held() == ["15", "A10", "A15", "A20", "a15"]
    assert not Lot.objects.get(product=other).is_quarantined


def test_without_lot_numbers_every_lot_of_the_product_is_held(owner):
    product, other = make_product("One"), make_product("Other")
    lots(owner, product, "A1", "B2")
    lots(owner, other, "C3")
    stop(owner, product)
    assert held() == ["A1", "B2"]


def test_one_lot_is_held_exactly_as_written(owner):
    product = make_product()
    lots(owner, product, "LOT42", "L0T42", "lot42")
    stop(owner, product, lot_first="LOT42", lot_last="LOT42")
    assert held() == ["LOT42"]


def test_serial_numbers_hold_units_and_those_without_one(owner):
    product = make_product()
    serials = ["99", "100", "105", "106", ""]
    receive_lot(
        product=product, number="A1", expires_on=EXPIRY, quantity=5, serials=serials, actor=owner
    )
    stop(owner, product, serial_first="100", serial_last="105")
    assert held_serials() == ["100", "105", ""]
    assert held() == []
    unit = UnitOfStock.objects.get(serial="100")
    assert (unit.is_quarantined, unit.quarantine_reason) == (True, "Maker's letter")


def test_serial_numbers_of_some_lots_leave_the_other_lots_alone(owner):
    product = make_product()
    for number in ("A1", "B1"):
        receive_lot(
            product=product, number=number, expires_on=EXPIRY, quantity=1, serials=["100"],
            actor=owner,
        )  # fmt: skip
    stop(owner, product, lot_first="A1", lot_last="A1", serial_first="1", serial_last="200")
    held_units = UnitOfStock.objects.filter(quarantined_at__isnull=False)
    assert [unit.lot.number for unit in held_units] == ["A1"]


def test_what_arrives_later_meets_the_quarantine(owner):
    product = make_product()
    stop(owner, product, lot_first="A10", lot_last="A20")
    stop(owner, product, lot_first="B1", lot_last="B1", serial_first="7", serial_last="9")
    with pytest.raises(StockError, match="Lot A15 is in quarantine: Maker's letter"):
        make_units(owner, product, number="A15")
    for serials, words in [(["8"], "Serial number 8 of lot B1"), ([], "without a serial number")]:
        with pytest.raises(StockError, match=words):
            receive_lot(
                product=product, number="B1", expires_on=EXPIRY, quantity=1, serials=serials,
                actor=owner,
            )  # fmt: skip
    assert not Lot.objects.exists()
    make_units(owner, product, number="A21")


def test_lifting_one_of_two_keeps_what_the_other_holds(owner):
    product = make_product()
    lots(owner, product, "A10", "A15", "A20")
    first = stop(owner, product, "First letter", lot_first="A10", lot_last="A15")
    stop(owner, product, "Second letter", lot_first="A15", lot_last="A20")
    lift_quarantine(quarantine=first, reason="Answered", actor=owner)
    assert held() == ["A15", "A20"]
    assert Lot.objects.get(number="A15").quarantine_reason == "Second letter"


def test_a_lot_held_with_others_is_not_released_alone(owner):
    product = make_product()
    lots(owner, product, "A10", "A15")
    wide = stop(owner, product, lot_first="A10", lot_last="A20")
    lot = Lot.objects.get(number="A15")
    with pytest.raises(QuarantineError, match="held with others \\(lots A10 to A20\\)"):
        release_lot(lot=lot, reason="Compared", actor=owner)
    lift_quarantine(quarantine=wide, reason="Compared", actor=owner)
    assert held() == []


def test_releasing_a_lot_lifts_all_its_own_quarantines(owner):
    lot = make_units(owner, make_product(), number="A15")[0].lot
    quarantine_lot(lot=lot, reason="First letter", actor=owner)
    stop(owner, lot.product, "Second letter", lot_first="A15", lot_last="A15")
    release_lot(lot=lot, reason="Answered", actor=owner)
    assert not refreshed(lot).is_quarantined
    assert not Quarantine.objects.standing().exists()


@pytest.mark.parametrize(
    ("span", "words"),
    [
        ({"lot_first": "A20", "lot_last": "A10"}, "“A10” comes before “A20”"),
        ({"lot_first": "A1", "lot_last": "22"}, "built differently"),
        ({"lot_first": "A1", "lot_last": ""}, "both the first and the last"),
        ({"lot_first": "A 1", "lot_last": "A 1"}, "does not hold a blank"),
        ({"serial_first": "1", "serial_last": "x"}, "built differently"),
        ({"serial_first": "é", "serial_last": "é"}, "A serial number does not hold"),
    ],
)
def test_ends_that_make_no_range_are_refused(owner, span, words):
    with pytest.raises(QuarantineError, match=words):
        stop(owner, make_product(), **span)
    assert not Quarantine.objects.exists()


def test_a_reason_is_needed_to_stop_and_to_lift(owner):
    product = make_product()
    with pytest.raises(QuarantineError, match="Say why: the reason is shown"):
        stop(owner, product, "  ")
    quarantine = stop(owner, product)
    with pytest.raises(QuarantineError, match="Say why it may be used again"):
        lift_quarantine(quarantine=quarantine, reason=" ", actor=owner)
    assert not refreshed(quarantine).is_lifted


def test_what_was_lifted_is_not_lifted_again(owner):
    quarantine = stop(owner, make_product())
    lift_quarantine(quarantine=quarantine, reason="Answered", actor=owner)
    with pytest.raises(QuarantineError, match="lifted already"):
        lift_quarantine(quarantine=quarantine, reason="Twice", actor=owner)
    assert refreshed(quarantine).lift_reason == "Answered"


def test_the_trail_names_the_act_and_each_lot_and_unit_once(owner):
    product = make_product()
    lots(owner, product, "A10", "A15", "B1")
    receive_lot(
        product=product, number="C1", expires_on=EXPIRY, quantity=2, serials=["1", "9"], actor=owner
    )
    wide = stop(owner, product, lot_first="A10", lot_last="A20")
    stop(owner, product, lot_first="C1", lot_last="C1", serial_first="1", serial_last="5")
    lift_quarantine(quarantine=wide, reason="Answered", actor=owner)
    done = AuditEvent.objects.exclude(action__in=["lot.added", "lot.received"]).order_by("id")
    assert [event.action for event in done] == [
        "quarantine.placed", "lot.quarantined", "lot.quarantined",
        "quarantine.placed", "unit.quarantined",
        "quarantine.lifted", "lot.released", "lot.released",
    ]  # fmt: skip


def test_stopping_takes_as_many_statements_for_many_lots_as_for_few(
    owner, django_assert_max_num_queries
):
    few, many = make_product("Few"), make_product("Many")
    lots(owner, few, "A1")
    lots(owner, many, *(f"A{number}" for number in range(20)))
    with django_assert_max_num_queries(100) as counted:
        stop(owner, few)
    with django_assert_max_num_queries(len(counted.captured_queries)):
        stop(owner, many)
    assert len(held()) == 21
