"""
Counting by code. The codes are element strings of the GS1 General Specifications, section 3, with
the prefix 952 that GS1 keeps for examples.
"""

import pytest

from clinic.counts.enums import CountScope, Way
from clinic.counts.errors import CountClosed, CountError
from clinic.counts.models import CountedExtra
from clinic.counts.services.counting import give_up, start_count
from clinic.counts.services.scanning import add_extra, count_code
from clinic.stock.enums import MovementKind
from clinic.stock.naming import NotNamed
from clinic.stock.services import lock_unit, move_unit, put_elsewhere, take_out_of_stock
from tests.clinic.counts.conftest import GTIN
from tests.factories import make_session_with_unit, make_units

LOT42 = f"(01){GTIN}(10)LOT42"


@pytest.fixture
def scan(count, injector):
    return lambda text: count_code(count=count, text=text, actor=injector)


def test_each_scan_of_a_lot_notes_the_next_unit_of_it_that_lies_here(count, units, scan):
    assert [scan(LOT42).unit for _ in range(3)] == units
    assert set(count.seen.values_list("way", flat=True)) == {Way.SCANNED}


def test_the_answer_says_how_many_of_the_lot_were_seen(scan, units):
    scan(LOT42)
    answer = scan(LOT42)
    assert answer.text == f"Unit {units[1].label}, lot LOT42: 2 of 3 here."
    assert answer.note == ""


def test_a_serial_number_notes_the_very_unit_and_only_once(count, owner, product, cupboard, scan):
    made = make_units(owner, product, number="S", quantity=3, serials=["A", "B"], place=cupboard)
    code = f"01{GTIN}10S\x1d21B"
    assert scan(code).unit == made[1]
    again = scan(code)
    assert (again.unit, again.note) == (None, "Nothing was added.")
    assert count.seen.count() == 1


def test_a_label_notes_its_unit(count, units, scan):
    assert scan("u3").unit == units[2]
    assert count.seen.get().way == Way.TYPED


@pytest.mark.parametrize("text", ["", "nonsense", "u999", f"(01){GTIN}"])
def test_what_names_no_unit_is_refused_and_nothing_noted(count, scan, text):
    with pytest.raises(NotNamed):
        scan(text)
    assert not count.seen.exists()


def test_an_opened_unit_is_refused(units, scan, injector, patient):
    make_session_with_unit(injector, patient, units[0])
    with pytest.raises(CountError, match="is opened"):
        scan(units[0].label)


def test_a_unit_known_elsewhere_is_noted_and_said_to_be_moved(owner, product, room, scan):
    (there,) = make_units(owner, product, number="R", quantity=1, place=room)
    answer = scan(there.label)
    assert answer.unit == there
    assert answer.note == "By the books it lies in Riverside, Room 1. Posting moves it here."


@pytest.mark.parametrize(
    ("kind", "words"),
    [(MovementKind.RETURNED, "returned to supplier"), (MovementKind.WRITTEN_OFF, "written off"),
     (MovementKind.MISSING, "missing at count")],
)  # fmt: skip
def test_a_unit_that_is_gone_by_the_books_is_noted_and_said_to_come_back(
    owner, units, scan, kind, words
):
    if kind is MovementKind.MISSING:
        move_unit(lock_unit(units[0].pk), kind, amount=1000, reason="Counted", actor=owner)
    else:
        take_out_of_stock(unit=units[0], kind=kind, reason="Counted", actor=owner)
    answer = scan(units[0].label)
    assert answer.note == f"By the books it is {words}. Posting puts it back into stock."


def test_one_box_more_than_are_known_here_is_asked_about_never_guessed(
    count, owner, units, product, room, scan
):
    (there,) = make_units(owner, product, quantity=1, place=room)
    for _ in units:
        scan(LOT42)
    answer = scan(LOT42)
    assert (answer.unit, answer.candidates, answer.code) == (None, [there], LOT42)
    assert answer.text == "Lot LOT42: 3 known here, and 3 seen."
    assert count.seen.count() == 3
    assert not count.extras.exists()


def test_of_units_that_a_code_cannot_tell_apart_one_a_place_is_offered(
    owner, product, room, cupboard, count, scan
):
    first, _, apart = make_units(owner, product, number="N", quantity=3, place=room)
    put_elsewhere(unit=apart, place=cupboard, actor=owner)
    take_out_of_stock(unit=apart, kind=MovementKind.RETURNED, reason="Twice", actor=owner)
    answer = scan(f"(01){GTIN}(10)N")
    assert answer.candidates == [first, apart]
    assert "no unopened unit of it lies here" in answer.text


def test_a_box_that_is_in_nobodys_books_becomes_a_line_when_a_person_says_so(
    count, units, injector
):
    for number in (1, 2):
        answer = add_extra(count=count, text=LOT42, actor=injector)
        assert answer.extra.quantity == number
    extra = count.extras.get()
    assert (extra.product, extra.number, extra.expires_on) == (
        units[0].lot.product, "LOT42", units[0].lot.expires_on,
    )  # fmt: skip


def test_an_unknown_lot_becomes_a_line_with_what_the_code_says(count, product, scan):
    answer = scan(f"01{GTIN}17310115" + "10NEW1")
    extra = count.extras.get()
    assert answer.extra == extra
    assert (extra.product, extra.number, f"{extra.expires_on}") == (product, "NEW1", "2031-01-15")
    scan(f"01{GTIN}17310115" + "10NEW1")
    assert count.extras.get().quantity == 2


def test_an_unknown_product_is_kept_by_its_gtin(count, scan):
    answer = scan("(01)09521234543220(10)NEW1")
    assert "09521234543220, which is not known" in answer.text
    extra = CountedExtra.objects.get()
    assert (extra.product, extra.gtin, extra.expires_on) == (None, "09521234543220", None)


def test_a_serial_number_in_nobodys_books_is_counted_once(count, scan):
    for _ in range(2):
        answer = scan(f"01{GTIN}10NEW1\x1d21A")
    assert answer.note == "Nothing was added."
    assert count.extras.get().quantity == 1


def test_a_lot_number_that_resembles_a_known_one_is_asked_about(scan, units):
    assert scan(f"(01){GTIN}(10)L0T42").note == "It resembles “LOT42”. Compare with the box."


def test_counting_what_was_put_nowhere_moves_nothing(owner, product, injector, units):
    make_units(owner, product, quantity=1)
    count = start_count(scope=CountScope.NOWHERE, place=None, actor=injector)
    answer = count_code(count=count, text=units[0].label, actor=injector)
    assert answer.note == "By the books it lies in Riverside, Cupboard."


def test_a_count_that_is_over_takes_no_code(count, scan, injector):
    give_up(count=count, reason="Fire alarm", actor=injector)
    with pytest.raises(CountClosed):
        scan(LOT42)
