"""Stopping while others receive, open and stop: real threads and transactions, both databases."""

from datetime import date

import pytest

from clinic.quarantine.errors import QuarantineError
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import lift_quarantine, place_quarantine, quarantine_lot
from clinic.receiving.services import DeliveryLine, receive
from clinic.stock.enums import UnitState
from clinic.stock.errors import StockError
from clinic.stock.models import Lot, UnitOfStock
from records.sessions.errors import OpeningRefused
from records.sessions.services.tray import put_on_tray
from tests.factories import make_patient, make_product, make_session, make_units, make_user
from tests.records.sessions.services.test_races import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def owner():
    return make_user("owner")


def stop(product, owner, **span) -> Quarantine:
    wanted = Quarantine(product=product, reason="Maker's letter", **span)
    return place_quarantine(quarantine=wanted, actor=owner)


def line(product, number: str, **fields) -> DeliveryLine:
    fields = {"expires_on": date(2030, 6, 30), "quantity": 2, **fields}
    return DeliveryLine(product=product, number=number, **fields)


def test_what_arrives_is_there_before_the_quarantine_or_is_refused(owner):
    product = make_product()
    span = {"lot_first": "A10", "lot_last": "A20"}
    stopped, received = at_once(
        [
            lambda: stop(product, owner, **span),
            lambda: receive(lines=[line(product, "A15")], actor=owner),
        ]
    )
    assert isinstance(stopped, Quarantine)
    if isinstance(received, StockError):
        assert "in quarantine: Maker's letter" in str(received)
        assert not UnitOfStock.objects.exists()
    else:
        assert Lot.objects.get().is_quarantined


def test_two_deliveries_with_the_products_in_another_order_both_come_in(owner):
    products = [make_product("One"), make_product("Other")]
    acts = [
        lambda order=order, number=number: receive(
            lines=[line(product, number) for product in order], actor=owner
        )
        for order, number in [(products, "L1"), (products[::-1], "L2")] * 2
    ]
    answers = at_once(acts)
    assert all(isinstance(answer, list) for answer in answers), answers
    assert UnitOfStock.objects.count() == 16
    assert Lot.objects.count() == 4


def test_units_are_opened_before_they_are_stopped_or_refused_and_nobody_is_sent_away(owner):
    """Openers hold a unit and want its lot; who stops by serial numbers wants both."""
    injector = make_user("injector")
    product = make_product()
    serials = [str(number) for number in range(100, 106)]
    (units,) = receive(lines=[line(product, "LOT42", quantity=6, serials=serials)], actor=owner)
    sessions = [make_session(injector, make_patient(owner, f"Ann {name}")) for name in "ABCDEF"]

    def opening(session, unit):
        return lambda: put_on_tray(session=session, unit=unit, actor=injector)

    span = {"serial_first": "100", "serial_last": "105"}
    stopped, *opened = at_once(
        [
            lambda: stop(product, owner, **span),
            *(opening(*pair) for pair in zip(sessions, units[::-1], strict=True)),
        ]
    )
    assert isinstance(stopped, Quarantine), stopped
    refused = [answer for answer in opened if isinstance(answer, Exception)]
    assert all(isinstance(answer, OpeningRefused) for answer in refused), refused
    assert UnitOfStock.objects.filter(state=UnitState.OPENED).count() == 6 - len(refused)
    assert UnitOfStock.objects.filter(quarantined_at__isnull=False).count() == 6


def test_of_two_who_stop_one_lot_at_once_one_learns_that_it_is_stopped(owner):
    lot = make_units(owner, make_product())[0].lot
    answers = at_once([lambda: quarantine_lot(lot=lot, reason="Letter", actor=owner)] * 3)
    refused = [answer for answer in answers if isinstance(answer, QuarantineError)]
    assert [str(answer) for answer in refused] == ["Lot LOT42 is already in quarantine."] * 2
    assert Quarantine.objects.count() == 1


def test_lifting_one_of_two_overlapping_quarantines_keeps_the_lot_held(owner):
    product = make_product()
    make_units(owner, product, number="A15")
    wide, narrow = at_once(
        [
            lambda: stop(product, owner, lot_first="A10", lot_last="A20"),
            lambda: stop(product, owner, lot_first="A15", lot_last="A15"),
        ]
    )
    lift_quarantine(quarantine=wide, reason="Answered", actor=owner)
    assert Lot.objects.get().is_quarantined
    at_once([lambda: lift_quarantine(quarantine=narrow, reason="Answered", actor=owner)] * 2)
    assert not Lot.objects.get().is_quarantined


def test_lifting_two_at_once_releases_what_neither_holds_any_more(owner):
    product = make_product()
    make_units(owner, product, number="A15")
    both = [stop(product, owner, lot_first="A10", lot_last="A20") for _ in range(2)]
    answers = at_once(
        [
            lambda one=one: lift_quarantine(quarantine=one, reason="Answered", actor=owner)
            for one in both
        ]
    )
    assert answers == [None, None]
    assert not Lot.objects.get().is_quarantined
