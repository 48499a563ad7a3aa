"""
What a code does to the lines of a delivery, before anything is received.

Codes: GS1 General Specifications, sections 3 and 7.8; product numbers with the example prefix 952.
"""

from datetime import date

import pytest

from clinic.quarantine.services import quarantine_lot
from clinic.receiving.drafts import MOST_LINES, Delivery, blank_line, settle_ticks
from tests.factories import make_product, make_quarantine, make_units

TODAY = date(2026, 11, 30)
SOFT, DEEP, UNKNOWN = "09521234543213", "09520000000011", "09520000000028"
EXPIRY = "17301130"


@pytest.fixture
def soft(db):
    return make_product("Soft", gtin=SOFT)


@pytest.fixture
def deep(db):
    return make_product("Deep", gtin=DEEP, units_per_pack=2)


def code(gtin: str = SOFT, lot: str = "A15", serial: str = "") -> str:
    return f"01{gtin}{EXPIRY}10{lot}" + (f"\x1d21{serial}" if serial else "")


def scanned(*codes: str, lines: list | None = None) -> Delivery:
    delivery = Delivery(lines=lines or [])
    for text in codes:
        delivery.read(text, today=TODAY)
    return delivery


def rows(delivery: Delivery) -> list[tuple[str, str, str]]:
    return [(line["number"], line["quantity"], line["serials"]) for line in delivery.lines]


def errors(delivery: Delivery) -> list[str]:
    return [read.error for read in delivery.told if read.error]


def test_a_code_adds_a_line_and_the_same_lot_again_raises_its_count(soft):
    delivery = scanned(code(), code(), code(lot="B2"), code())
    assert rows(delivery) == [("A15", "3", ""), ("B2", "1", "")]
    assert delivery.lines[0]["product"] == str(soft.pk)
    assert delivery.lines[0]["expires_on"] == "2030-11-30"
    assert [(read.line, read.added, read.quantity) for read in delivery.told] == [
        (0, 1, 1), (0, 1, 2), (1, 1, 1), (0, 1, 3),
    ]  # fmt: skip


def test_a_pack_counts_the_units_in_it(deep):
    assert rows(scanned(code(DEEP), code(DEEP))) == [("A15", "4", "")]


def test_lot_numbers_that_look_alike_stay_two_lines(soft):
    assert rows(scanned(code(lot="LOT42"), code(lot="L0T42"))) == [
        ("LOT42", "1", ""), ("L0T42", "1", ""),
    ]  # fmt: skip


def test_a_box_with_a_serial_number_is_counted_once(soft):
    delivery = scanned(code(serial="S1"), code(serial="S2"), code(serial="S1"))
    assert rows(delivery) == [("A15", "2", "S1\nS2")]
    assert "Serial number S1 of this lot was scanned before" in errors(delivery)[0]


def test_the_same_serial_number_of_another_lot_is_another_box(soft):
    delivery = scanned(code(serial="S1"), code(lot="B2", serial="S1"))
    assert rows(delivery) == [("A15", "1", "S1"), ("B2", "1", "S1")]


def test_a_box_that_is_in_the_books_is_named(soft, owner):
    make_units(owner, soft, number="A15", quantity=1, expires_on=date(2030, 11, 30))
    soft.lots.get().units.update(serial="S1")
    delivery = scanned(code(serial="S1"))
    assert delivery.lines == []
    assert "in the books already, as unit U000001" in errors(delivery)[0]


def test_two_codes_on_one_box_make_one_line(deep):
    """One striped code with the product, one with expiry and lot."""
    delivery = scanned(f"01{DEEP}", f"{EXPIRY}10A15", f"01{DEEP}", f"{EXPIRY}10A15")
    assert rows(delivery) == [("A15", "4", "")]
    assert errors(delivery) == []


def test_the_product_may_come_after_the_lot(deep):
    delivery = scanned(f"{EXPIRY}10A15", f"01{DEEP}")
    assert rows(delivery) == [("A15", "2", "")]
    assert delivery.lines[0]["product"] == str(deep.pk)


def test_a_product_number_alone_counts_packs_whose_lot_is_typed(soft):
    assert rows(scanned(SOFT, SOFT)) == [("", "2", "")]


def test_a_known_lot_tells_the_expiry_that_the_code_leaves_out(soft, owner):
    make_units(owner, soft, number="A15", expires_on=date(2031, 2, 28))
    assert scanned(f"01{SOFT}10A15").lines[0]["expires_on"] == "2031-02-28"


def test_another_expiry_of_the_same_lot_is_a_line_of_its_own(soft):
    """Never merged silently: receiving refuses it."""
    delivery = scanned(code(), f"01{SOFT}1731022810A15")
    assert [line["expires_on"] for line in delivery.lines] == ["2030-11-30", "2031-02-28"]


def test_the_first_code_takes_the_blank_line_and_the_next_one_its_place(soft):
    delivery = scanned(code(), code(lot="B2"), lines=[blank_line(place="7")])
    assert [(line["number"], line["place"]) for line in delivery.lines] == [
        ("A15", "7"), ("B2", "7"),
    ]  # fmt: skip


def test_what_was_typed_by_hand_stays(soft):
    typed = blank_line(product=str(soft.pk), number="HAND", quantity="x", expires_on="soon")
    delivery = scanned(code(), lines=[typed])
    assert [line["number"] for line in delivery.lines] == ["HAND", "A15"]
    assert (typed["quantity"], typed["expires_on"]) == ("x", "soon")


def test_a_count_that_is_no_number_is_left_alone(soft):
    typed = blank_line(product=str(soft.pk), number="A15", quantity="many", expires_on="2030-11-30")
    assert rows(scanned(code(), lines=[typed])) == [("A15", "many", ""), ("A15", "1", "")]


def test_a_line_holds_no_more_than_is_received_at_once(soft):
    full = blank_line(product=str(soft.pk), number="A15", quantity="500", expires_on="2030-11-30")
    assert rows(scanned(code(), lines=[full])) == [("A15", "500", ""), ("A15", "1", "")]


def test_a_delivery_has_a_last_line(soft):
    lines = [blank_line(number=f"L{number}") for number in range(MOST_LINES)]
    delivery = scanned(code(), lines=lines)
    assert len(delivery.lines) == MOST_LINES
    assert "receive these first" in errors(delivery)[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (code(UNKNOWN), f"No product has the GTIN {UNKNOWN}"),
        ("0109521234543210" + EXPIRY, "should be 3"),
        ("+A999FILLER11/$$3271130LOT42O", "HIBC"),
        ("19521234543210", "outer pack of Soft"),
        ("hello", "not a GS1 code"),
    ],
)
def test_a_code_that_adds_nothing_says_why(soft, text, words):
    delivery = scanned(text)
    assert delivery.lines == []
    assert words in errors(delivery)[0]
    assert delivery.told[0].text == text


def test_a_product_no_longer_in_use_is_not_added(soft):
    soft.is_active = False
    soft.save()
    assert "Soft is no longer in use" in errors(scanned(code()))[0]


def test_what_is_in_quarantine_is_set_apart(soft, owner):
    lot = make_units(owner, soft, number="A15", expires_on=date(2030, 11, 30))[0].lot
    quarantine_lot(lot=lot, reason="Notice 7.", actor=owner)
    make_quarantine(owner, soft, "Notice 8.", lot_first="B10", lot_last="B20")
    delivery = scanned(code(), code(lot="B15"))
    assert delivery.lines == []
    assert errors(delivery) == [
        "Lot A15 is in quarantine: Notice 7. Set the box apart; it is not received.",
        "Lot B15 is in quarantine: Notice 8. Set the box apart; it is not received.",
    ]


def test_a_tick_holds_for_the_lot_it_was_set_for():
    line = blank_line(product="1", number="A15", expires_on="2030-11-30", is_compared="on")
    settle_ticks([line])
    assert (line["is_compared"], line["asked"]) == ("", "1|A15|2030-11-30")
    line["is_compared"] = "on"
    settle_ticks([line])
    assert line["is_compared"] == "on"
    line["number"] = "A16"
    settle_ticks([line])
    assert line["is_compared"] == ""


@pytest.mark.parametrize("total", ["", "x", "-1", "99999999999", "²"])
def test_a_form_without_a_fit_count_has_no_lines(total):
    assert Delivery.of_form({"line-TOTAL_FORMS": total, "line-0-number": "A15"}).lines == []


def test_a_form_holds_no_more_lines_than_are_shown():
    assert len(Delivery.of_form({"line-TOTAL_FORMS": "999"}).lines) == MOST_LINES
