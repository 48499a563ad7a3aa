"""Units that come in: all lines of a delivery or none, each unit with its label."""

from datetime import date, datetime

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import place_quarantine, quarantine_lot
from clinic.receiving.errors import LineRefused
from clinic.receiving.services import DeliveryLine, receive
from clinic.stock.enums import MovementKind
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from tests.factories import make_place, make_product, make_units

EXPIRY = date(2030, 6, 30)


def line(product, number="LOT42", quantity=2, **fields) -> DeliveryLine:
    fields.setdefault("expires_on", EXPIRY)
    return DeliveryLine(product=product, number=number, quantity=quantity, **fields)


def test_all_lines_come_in_together_in_their_order(owner):
    soft, deep = make_product("Soft"), make_product("Deep")
    cupboard = make_place("Cupboard 2")
    given = receive(
        lines=[line(deep, "D1", 1, place=cupboard), line(soft, "S1"), line(soft, "S2", 1)],
        actor=owner,
    )
    assert [[unit.label for unit in units] for units in given] == [
        ["U000001"], ["U000002", "U000003"], ["U000004"],
    ]  # fmt: skip
    rows = StockMovement.objects.values_list("unit__lot__number", "kind", "amount", "place")
    received = MovementKind.RECEIVED
    assert list(rows) == [
        ("D1", received, 1000, cupboard.pk), ("S1", received, 1000, None),
        ("S1", received, 1000, None), ("S2", received, 1000, None),
    ]  # fmt: skip
    assert UnitOfStock.objects.get(label="U000001").place == cupboard


def test_two_lines_of_one_lot_make_one_lot(owner):
    product = make_product()
    receive(lines=[line(product, quantity=1), line(product, quantity=3)], actor=owner)
    assert Lot.objects.get().units.count() == 4


def test_the_trail_tells_of_each_new_lot_and_each_line(owner):
    product = make_product()
    make_units(owner, product, number="KNOWN", quantity=1)
    receive(
        lines=[line(product, "KNOWN", 1), line(product, "NEW", 1)],
        actor=owner,
        reason="From a list",
    )
    events = list(AuditEvent.objects.order_by("id"))[2:]  # two told of the known lot before
    assert [event.action for event in events] == ["lot.added", "lot.received", "lot.received"]
    assert '"labels":["U000002"]' in events[1].data
    assert '"reason":"From a list"' in events[2].data


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"number": "LOT 42"}, "A lot number does not hold a blank"),
        ({"quantity": 0}, "Receive 1 to 500 units at once, not 0"),
        ({"quantity": 501}, "Receive 1 to 500 units at once, not 501"),
        ({"serials": ["S 1"]}, "A serial number does not hold a blank"),
        ({"serials": ["1", "2", "3"]}, "3 serial numbers for 2 units"),
        ({"serials": ["1", "1"]}, "Serial number 1 of lot LOT42 is in the books already"),
        ({"expires_on": date(2030, 7, 31)}, "known with the expiry 30 Jun 2030, not 31 Jul 2030"),
    ],
)
def test_one_wrong_line_keeps_all_of_them_out_and_is_named(owner, wrong, words):
    product = make_product()
    fields = {"product": product, **wrong}
    with pytest.raises(LineRefused, match=words) as refused:
        receive(lines=[line(product, quantity=1), line(**fields)], actor=owner)
    assert refused.value.index == 1
    assert not UnitOfStock.objects.exists()
    assert not Lot.objects.exists()
    assert not AuditEvent.objects.exists()


def test_a_serial_number_is_once_in_a_lot_and_may_be_in_another(owner):
    product = make_product()
    receive(lines=[line(product, serials=["7"]), line(product, "B1", serials=["7"])], actor=owner)
    for lines in ([line(product, serials=["7"])], [line(product, "C1", 1, serials=["9"])] * 2):
        with pytest.raises(LineRefused, match="is in the books already"):
            receive(lines=lines, actor=owner)
    assert not Lot.objects.filter(number="C1").exists()


def test_serial_numbers_stand_at_the_units_they_are_given_for(owner):
    (units,) = receive(
        lines=[line(make_product(), quantity=4, serials=["S1", "", "S2"])], actor=owner
    )
    assert [unit.serial for unit in units] == ["S1", "", "S2", ""]


def test_a_day_of_delivery_stands_in_the_ledger(owner):
    receive(lines=[line(make_product(), received_on=date(2026, 11, 2))], actor=owner)
    days = {timezone.localtime(at) for at in StockMovement.objects.values_list("at", flat=True)}
    assert days == {timezone.make_aware(datetime(2026, 11, 2, 12))}  # noqa: DTZ001


def test_units_that_a_count_found_say_why(owner):
    receive(lines=[line(make_product(), quantity=1)], actor=owner, found="Behind the drawer")
    movement = StockMovement.objects.get()
    assert (movement.kind, movement.reason) == (MovementKind.FOUND, "Behind the drawer")
    assert AuditEvent.objects.first().action == "lot.found"


def test_what_is_in_quarantine_does_not_come_in(owner):
    product = make_product()
    (unit,) = make_units(owner, product, number="STOPPED", quantity=1)
    quarantine_lot(lot=unit.lot, reason="Letter", actor=owner)
    span = {"lot_first": "R10", "lot_last": "R20"}
    place_quarantine(quarantine=Quarantine(product=product, reason="Range", **span), actor=owner)
    for number, words in [("STOPPED", "STOPPED is in quarantine: Letter"), ("R15", "Range")]:
        with pytest.raises(LineRefused, match=words):
            receive(lines=[line(product, "R21"), line(product, number)], actor=owner)
    assert UnitOfStock.objects.count() == 1


def test_the_statements_do_not_grow_with_the_lines(owner, django_assert_max_num_queries):
    soft, deep = make_product("Soft"), make_product("Deep")
    with django_assert_max_num_queries(100) as few:
        receive(lines=[line(soft, "A1", serials=["1"])], actor=owner)
    many = [line(product, f"B{n}", serials=["1"]) for n in range(10) for product in (soft, deep)]
    with django_assert_max_num_queries(len(few.captured_queries)):
        receive(lines=many, actor=owner)
    assert UnitOfStock.objects.count() == 42
