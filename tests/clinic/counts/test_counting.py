"""Starting a count, ticking, taking back, lines in nobody's books, and giving it up."""

from datetime import date

import pytest

from clinic.audit.models import AuditEvent
from clinic.counts.enums import CountScope, Way
from clinic.counts.errors import CountClosed, CountError, CountUnderWay
from clinic.counts.models import CountedExtra, StockCount
from clinic.counts.queries import expected_units, progress
from clinic.counts.services.counting import (
    give_up,
    remove_extra,
    save_extra,
    see_unit,
    start_count,
    take_back,
)
from clinic.stock.enums import MovementKind
from clinic.stock.services import put_elsewhere, take_out_of_stock
from tests.factories import make_place, make_product, make_session_with_unit, make_units, refreshed


def labels(units) -> list[str]:
    return [unit.label for unit in units]


def test_what_is_expected_is_unopened_and_lies_where_the_count_looks(
    owner, injector, patient, units, cupboard, room, product
):
    make_session_with_unit(injector, patient, units[0])
    put_elsewhere(unit=units[1], place=room, actor=owner)
    (loose,) = make_units(owner, product, quantity=1)
    left = make_units(owner, product, quantity=1, place=cupboard)[0]
    take_out_of_stock(unit=left, kind=MovementKind.RETURNED, reason="Twice", actor=owner)

    def expected(scope, place=None):
        count = StockCount(scope=scope, place=place)
        return labels(expected_units(count))

    assert expected(CountScope.PLACE, cupboard) == [units[2].label]
    assert expected(CountScope.NOWHERE) == [loose.label]
    assert sorted(expected(CountScope.EVERYTHING)) == sorted(labels([units[1], units[2], loose]))


def test_a_place_is_counted_by_one_count_at_a_time(count, cupboard, room, owner):
    with pytest.raises(CountUnderWay, match="Riverside, Cupboard is being counted") as error:
        start_count(scope=CountScope.PLACE, place=cupboard, actor=owner)
    assert error.value.count == count
    start_count(scope=CountScope.PLACE, place=room, actor=owner)
    start_count(scope=CountScope.EVERYTHING, place=None, actor=owner)
    with pytest.raises(CountUnderWay):
        start_count(scope=CountScope.EVERYTHING, place=None, actor=owner)
    give_up(count=count, reason="Begun too early", actor=owner)
    start_count(scope=CountScope.PLACE, place=cupboard, actor=owner)


def test_a_place_out_of_use_is_not_counted(owner):
    with pytest.raises(CountError, match="no longer in use"):
        start_count(scope=CountScope.PLACE, place=make_place("Old", is_active=False), actor=owner)


def test_a_unit_is_noted_once_by_whoever_saw_it_first(count, units, injector, owner):
    see = {"count": count, "unit": units[0]}
    assert see_unit(**see, way=Way.SCANNED, actor=injector)
    assert not see_unit(**see, way=Way.TICKED, actor=owner)
    row = count.seen.get()
    assert (row.by, row.way) == (injector, Way.SCANNED)
    assert AuditEvent.objects.filter(action="count.unit_seen").count() == 1


def test_an_opened_unit_is_not_counted(count, units, injector, patient):
    make_session_with_unit(injector, patient, units[0])
    with pytest.raises(CountError, match="only unopened units are counted"):
        see_unit(count=count, unit=refreshed(units[0]), way=Way.TICKED, actor=injector)


def test_what_was_noted_by_mistake_is_taken_back(count, units, see, injector):
    see(count, units[0])
    take_back(count=count, unit=units[0], actor=injector)
    take_back(count=count, unit=units[1], actor=injector)
    assert not count.seen.exists()
    assert AuditEvent.objects.filter(action="count.unit_taken_back").count() == 1


def test_progress_counts_what_is_expected_and_what_is_not(count, units, see, owner, room, product):
    elsewhere = make_units(owner, product, quantity=1, place=room)[0]
    before = progress(count)
    assert (before.seen, before.expected, before.unexpected, before.extras) == (0, 3, 0, 0)
    see(count, units[0], elsewhere)
    after = progress(count)
    assert (after.seen, after.expected, after.unexpected, after.extras) == (1, 3, 1, 0)
    assert after.mark != before.mark
    assert progress(count).mark == after.mark


def extra_line(count, product, **fields) -> CountedExtra:
    fields = {"number": "X1", "expires_on": date(2030, 1, 1), "quantity": 2, **fields}
    return CountedExtra(count=count, product=product, **fields)


def test_a_line_in_nobodys_books_is_written_changed_and_taken_out(count, product, injector):
    extra = save_extra(extra=extra_line(count, product), actor=injector)
    assert progress(count).extras == 2
    extra.quantity = 3
    save_extra(extra=extra, actor=injector)
    assert progress(count).extras == 3
    with pytest.raises(CountError, match="has a line already"):
        save_extra(extra=extra_line(count, product), actor=injector)
    remove_extra(extra=extra, actor=injector)
    assert progress(count).extras == 0
    actions = AuditEvent.objects.filter(action__startswith="count.extra").order_by("id")
    assert [event.action for event in actions] == [
        "count.extra_noted", "count.extra_noted", "count.extra_taken_out",
    ]  # fmt: skip


def test_a_line_needs_a_lot_number(count, product, injector):
    with pytest.raises(CountError, match="a blank"):
        save_extra(extra=extra_line(count, product, number="A B"), actor=injector)


def test_a_count_that_was_given_up_stays_and_takes_nothing_more(count, units, product, injector):
    with pytest.raises(CountError, match="Say why"):
        give_up(count=count, reason="  ", actor=injector)
    give_up(count=count, reason="Fire alarm", actor=injector)
    stored = refreshed(count)
    assert (stored.is_open, stored.give_up_reason, stored.given_up_by) == (
        False, "Fire alarm", injector,
    )  # fmt: skip
    see = {"count": count, "unit": units[0], "actor": injector}
    for act in (
        lambda: see_unit(way=Way.TICKED, **see),
        lambda: take_back(**see),
        lambda: save_extra(extra=extra_line(count, product), actor=injector),
        lambda: give_up(count=count, reason="Again", actor=injector),
    ):
        with pytest.raises(CountClosed, match="was given up by Ida Injector"):
            act()


def test_the_whole_stock_is_counted_across_places(owner, injector, units, room, product, see):
    elsewhere = make_units(owner, make_product("Other"), quantity=1, place=room)
    count = start_count(scope=CountScope.EVERYTHING, place=None, actor=injector)
    see(count, *units, *elsewhere)
    assert (progress(count).seen, progress(count).unexpected) == (4, 0)
