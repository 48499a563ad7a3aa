"""What a count comes to: compared with the ledger at posting, explained, and posted once."""

from datetime import date

import pytest

from clinic.audit.models import AuditEvent
from clinic.counts.enums import CountScope
from clinic.counts.errors import CountClosed, NotExplained
from clinic.counts.models import CountDifference, CountedExtra
from clinic.counts.queries import compare, results_by_lot
from clinic.counts.services.counting import give_up, save_extra, start_count
from clinic.counts.services.posting import extra_key, post_count, unit_key
from clinic.counts.services.scanning import add_extra, count_code
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import place_quarantine, quarantine_lot
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from clinic.stock.services import put_elsewhere, take_out_of_stock
from tests.clinic.counts.conftest import GTIN
from tests.factories import make_product, make_session_with_unit, make_units, refreshed


def findings(count) -> dict[str, str]:
    found = compare(count)
    return {line.unit.label: line.finding.name for line in [*found.differences, *found.passed_over]}


def last_movement(unit) -> StockMovement:
    return unit.movements.order_by("-id").first()


def new_lot(count, product, **fields) -> CountedExtra:
    fields = {"number": "NEW1", "expires_on": date(2030, 1, 1), "quantity": 2, **fields}
    return save_extra(
        extra=CountedExtra(count=count, product=product, **fields), actor=count.started_by
    )


# Comparing


def test_everything_seen_is_no_difference(count, units, see, post):
    see(count, *units)
    found = post(count)
    assert (found.agreed, found.differences, found.passed_over) == (3, [], [])
    assert not refreshed(count).is_open
    assert not CountDifference.objects.exists()
    assert not StockMovement.objects.exclude(kind=MovementKind.RECEIVED).exists()


def test_nobody_saw_it_so_it_is_missing(count, units, see, post, owner):
    see(count, *units[:2])
    post(count, "Not in the drawer")
    row = CountDifference.objects.get()
    assert (row.unit, row.explanation, row.count) == (units[2], "Not in the drawer", count)
    movement = last_movement(units[2])
    assert row.movement == movement
    told = (movement.kind, movement.reason, movement.by, movement.amount)
    assert told == (MovementKind.MISSING, "Not in the drawer", owner, 1000)
    assert refreshed(units[2]).state == UnitState.MISSING
    assert refreshed(units[2]).place is not None  # where it was looked for


def test_seen_here_but_known_elsewhere_is_moved(count, units, see, post, owner, product, room):
    (there,) = make_units(owner, product, quantity=1, place=room)
    see(count, *units, there)
    post(count, "Carried over in the morning")
    movement = last_movement(there)
    assert (movement.kind, movement.place, movement.reason) == (
        MovementKind.MOVED, count.place, "Carried over in the morning",
    )  # fmt: skip
    assert refreshed(there).place == count.place


@pytest.mark.parametrize("kind", [MovementKind.RETURNED, MovementKind.WRITTEN_OFF])
def test_what_had_left_by_the_books_comes_back(count, units, see, post, owner, room, kind):
    put_elsewhere(unit=units[0], place=room, actor=owner)
    take_out_of_stock(unit=units[0], kind=kind, reason="Recall", actor=owner)
    see(count, *units)
    post(count, "Was never sent")
    movement = last_movement(units[0])
    assert (movement.kind, movement.place) == (MovementKind.FOUND, count.place)
    unit = refreshed(units[0])
    assert (unit.state, unit.place) == (UnitState.IN_STOCK, count.place)


def test_what_was_missing_is_found_by_a_later_count(count, units, see, post, cupboard, injector):
    see(count, *units[:2])
    post(count)
    later = start_count(scope=CountScope.PLACE, place=cupboard, actor=injector)
    see(later, *units)
    post(later, "Behind the drawer")
    assert refreshed(units[2]).state == UnitState.IN_STOCK
    kinds = units[2].movements.order_by("id").values_list("kind", flat=True)
    assert list(kinds) == ["received", "missing", "found"]


def test_what_nobody_had_received_is_taken_into_stock(count, units, see, post, product):
    see(count, *units)
    new_lot(count, product)
    post(count, "Delivered without a note")
    made = UnitOfStock.objects.filter(lot__number="NEW1")
    assert [(unit.place, unit.state) for unit in made] == [(count.place, "in_stock")] * 2
    rows = CountDifference.objects.order_by("id")
    assert [row.unit for row in rows] == list(made.order_by("id"))
    for row in rows:
        assert (row.movement.kind, row.movement.reason) == (
            MovementKind.FOUND, "Delivered without a note",
        )  # fmt: skip


def test_another_box_of_a_known_lot_keeps_its_expiry(count, units, see, post, injector):
    see(count, *units)
    code = f"(01){GTIN}(10)LOT42"
    add_extra(count=count, text=code, actor=injector)
    post(count)
    assert Lot.objects.get().units.count() == 4


# What happens while people count


def test_what_was_opened_after_it_was_counted_is_no_difference(
    count, units, see, post, injector, patient
):
    see(count, *units)
    make_session_with_unit(injector, patient, refreshed(units[0]))
    assert findings(count) == {units[0].label: "CHANGED"}
    assert post(count).agreed == 2
    assert refreshed(units[0]).state == UnitState.OPENED


def test_what_was_opened_before_anybody_came_to_it_is_not_missing(
    count, units, see, post, injector, patient
):
    make_session_with_unit(injector, patient, units[0])
    see(count, *units[1:])
    assert findings(count) == {}
    post(count)
    assert not CountDifference.objects.exists()


def test_what_was_moved_away_after_it_was_counted_stays_where_it_was_put(
    count, units, see, post, owner, room
):
    see(count, *units)
    put_elsewhere(unit=units[0], place=room, actor=owner)
    assert findings(count) == {units[0].label: "CHANGED"}
    post(count)
    assert refreshed(units[0]).place == room


def test_what_was_moved_here_or_received_during_the_count_is_not_missing(
    count, units, see, post, owner, product, room, cupboard
):
    (there,) = make_units(owner, product, quantity=1, place=room)
    see(count, *units)
    put_elsewhere(unit=there, place=cupboard, actor=owner)
    (fresh,) = make_units(owner, product, quantity=1, place=cupboard)
    assert findings(count) == {there.label: "CHANGED", fresh.label: "CHANGED"}
    post(count)
    assert UnitOfStock.objects.in_stock().count() == 5


def test_what_was_seen_and_then_returned_is_not_found_again(count, units, see, post, owner):
    see(count, *units)
    take_out_of_stock(unit=units[0], kind=MovementKind.RETURNED, reason="Twice", actor=owner)
    post(count)
    assert refreshed(units[0]).state == UnitState.RETURNED


def test_a_line_whose_lot_was_received_meanwhile_is_looked_at_again(
    count, units, see, post, owner, product, cupboard
):
    see(count, *units)
    extra = new_lot(count, product)
    make_units(
        owner, product, number="NEW1", expires_on=date(2030, 1, 1), quantity=2, place=cupboard
    )
    with pytest.raises(NotExplained) as error:
        post(count)
    assert "2 of this lot came into the books" in error.value.lines[f"extra-{extra.pk}"]
    extra.quantity = 1
    save_extra(extra=extra, actor=owner)
    post(count)
    assert UnitOfStock.objects.filter(lot__number="NEW1").count() == 3


def test_a_product_that_was_added_meanwhile_is_taken_for_its_gtin(
    count, units, see, post, injector
):
    see(count, *units)
    answer = count_code(count=count, text="(01)09521234543220(10)NEW1(17)310115", actor=injector)
    assert compare(count).extras[0].problem.startswith("No product has the GTIN")
    other = make_product("Other", gtin="09521234543220")
    post(count)
    assert Lot.objects.get(number="NEW1").product == other
    assert answer.extra.product is None


def test_counting_everything_moves_nothing(owner, injector, units, room, see, post):
    count = start_count(scope=CountScope.EVERYTHING, place=None, actor=injector)
    put_elsewhere(unit=units[0], place=room, actor=owner)
    see(count, *units[:2])
    post(count)
    kinds = StockMovement.objects.exclude(kind="received").values_list("kind", flat=True)
    assert sorted(kinds) == ["missing", "moved"]
    assert refreshed(units[0]).place == room


# Posting


def test_each_difference_needs_a_reason_of_its_own(count, units, owner, product):
    extra = new_lot(count, product)
    lines = compare(count)
    said = {unit_key(units[0]): "Lost", unit_key(units[1]): "   ", "unit-999": "Else"}
    with pytest.raises(NotExplained) as error:
        post_count(count=count, explanations=said, actor=owner)
    assert error.value.lines == {
        unit_key(units[1]): "Say why.", unit_key(units[2]): "Say why.",
        extra_key(lines.extras[0]): "Say why.",
    }  # fmt: skip
    assert (refreshed(count).is_open, refreshed(units[0]).state) == (True, UnitState.IN_STOCK)
    assert extra.pk


def test_a_reason_too_long_for_the_ledger_is_refused(count, units, see, owner):
    see(count, *units[:2])
    with pytest.raises(NotExplained) as error:
        post_count(count=count, explanations={unit_key(units[2]): "x" * 301}, actor=owner)
    assert error.value.lines == {unit_key(units[2]): "At most 300 characters; this has 301."}


@pytest.mark.parametrize("fields", [{"expires_on": None}, {"expires_on": date(2031, 1, 1)}])
def test_a_line_that_cannot_be_received_holds_up_the_whole_posting(
    count, units, see, post, product, fields
):
    see(count, *units[:2])
    extra = new_lot(count, product, number="LOT42", **fields)
    with pytest.raises(NotExplained) as error:
        post(count)
    assert "expiry" in error.value.lines[f"extra-{extra.pk}"]
    assert refreshed(units[2]).state == UnitState.IN_STOCK
    assert refreshed(count).is_open


def test_a_count_is_posted_once(count, units, post, owner):
    post(count)
    with pytest.raises(CountClosed, match="was posted by Olga Owner"):
        post_count(count=count, explanations={}, actor=owner)
    with pytest.raises(CountClosed, match="was posted by Olga Owner"):
        give_up(count=count, reason="Late", actor=owner)
    assert CountDifference.objects.count() == 3


def test_posting_is_one_event_beside_those_of_its_units(count, units, see, post):
    see(count, units[0])
    post(count)
    event = AuditEvent.objects.get(action="count.posted")
    assert '"as_expected":1' in event.data
    assert f'"missing":["{units[1].label}","{units[2].label}"]' in event.data
    assert AuditEvent.objects.filter(action="unit.missing").count() == 2


def test_the_result_by_lot_says_what_became_of_each(count, units, see, post, owner, product, room):
    (there,) = make_units(owner, product, number="R", quantity=1, place=room)
    take_out_of_stock(unit=units[0], kind=MovementKind.RETURNED, reason="Twice", actor=owner)
    see(count, units[0], units[1], there)
    new_lot(count, product)
    post(count)
    rows = {
        row.lot.number: (row.seen, row.missing, row.moved, row.found, row.new)
        for row in results_by_lot(count)
    }
    assert rows == {"LOT42": (2, 1, 0, 1, 0), "R": (1, 0, 1, 0, 0), "NEW1": (0, 0, 0, 0, 2)}


def test_a_quarantined_lot_is_counted_like_any_other(count, units, see, post, owner):
    quarantine_lot(lot=units[0].lot, reason="Letter", actor=owner)
    see(count, *units[:2])
    post(count)
    assert refreshed(units[2]).state == UnitState.MISSING


def test_what_is_found_of_a_stopped_lot_is_taken_into_the_books_and_stopped(
    count, units, see, post, owner, product
):
    quarantine_lot(lot=units[0].lot, reason="Letter", actor=owner)
    place_quarantine(
        quarantine=Quarantine(
            product=product, lot_first="N10", lot_last="N20", reason="Second letter"
        ),
        actor=owner,
    )
    see(count, *units)
    new_lot(count, product, number="LOT42", quantity=1, expires_on=units[0].lot.expires_on)
    new_lot(count, product, number="N15", quantity=1)
    post(count)
    assert UnitOfStock.objects.filter(lot__number="LOT42").count() == 4
    new = Lot.objects.get(number="N15")
    assert (new.is_quarantined, new.quarantine_reason) == (True, "Second letter")


def test_comparing_takes_as_many_queries_for_many_units(
    count, units, owner, product, cupboard, django_assert_num_queries
):
    with django_assert_num_queries(4):
        compare(count)
    make_units(owner, product, number="MORE", quantity=20, place=cupboard)
    with django_assert_num_queries(4):
        compare(count)
