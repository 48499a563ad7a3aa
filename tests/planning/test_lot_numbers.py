"""
Lot numbers against GS1.

Sources: GS1 General Specifications 3.4.1 (AI 10: 1 to 20 characters of character set 82); the rows
marked "biip" are the outcome of biip 5.2.0 for the same element string; likeness is our own rule.
"""

import pytest
from biip import ParseError
from biip.gs1_messages import GS1Message

from planning.lot_numbers import (
    LotNumberError,
    check_lot_number,
    check_serial_number,
    folded,
    lookalikes,
)

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
# Figure 7.11-1 of the General Specifications: letters, digits and these twenty signs.
SET_82 = LETTERS + "0123456789" + "!\"%&'()*+,-./:;<=>?_"


def test_the_character_set_has_82_characters_and_each_is_accepted():
    assert len(set(SET_82)) == 82
    for character in SET_82:
        assert check_lot_number(character) == character


@pytest.mark.parametrize("character", [chr(code) for code in range(32, 127)])
def test_each_printable_character_is_judged_as_biip_judges_it(character):
    number = f"LOT{character}42"
    try:
        GS1Message.parse(f"10{number}")
    except ParseError:
        with pytest.raises(LotNumberError):
            check_lot_number(number)
    else:
        assert check_lot_number(number) == number


@pytest.mark.parametrize(
    "number",
    [
        "LOT42",
        "B-1/2",
        "A" * 20,  # biip: a lot of 20 is accepted
        "lot42",  # biip: case kept
        "LOT%2042",  # biip: % is a legal character
        "007",
    ],
)
def test_a_lot_number_is_kept_exactly(number):
    assert check_lot_number(number) == number


@pytest.mark.parametrize(
    ("number", "message"),
    [
        ("", "Type the lot number as it is printed on the box."),
        ("A" * 21, "at most 20 characters; this one has 21"),
        ("LOT 42", "does not hold a blank"),
        ("LOT42é", "does not hold “é”"),
        ("LOT#42", "does not hold “#”"),
        ("LOT@42", "does not hold “@”"),
        ("LOT42\x1d", "does not hold a blank"),  # the separator a scanner sends
        ("٤٢", "does not hold “٤”"),
        ("LOT\x0042", "does not hold a sign that cannot be seen"),
        ("LOT\u200b42", "does not hold a sign that cannot be seen"),
    ],
)
def test_what_no_lot_number_holds_is_refused(number, message):
    with pytest.raises(LotNumberError, match=message):
        check_lot_number(number)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("LOT7", "lot7"),
        ("L0T7", "LOT7"),  # zero for O
        ("AI23", "A123"),  # I for 1
        ("A1l3", "A113"),  # small l for 1
        ("007", "7"),
        ("LOT007", "LOT7"),
        ("A 12", "A12"),
        ("S5", "55"),
        ("AB8", "A88"),
        ("Z2", "22"),
    ],
)
def test_numbers_easily_taken_for_one_another(one, other):
    assert folded(one) == folded(other)
    assert lookalikes(one, ["B9", other]) == [other]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("A-12", "A12"),
        ("A-12", "A.12"),
        ("26/0412", "260412"),
        ("A-012", "A12"),
        ("10-05", "1005"),
        ("10-05", "10-5"),
        ("lot_7", "LOT7"),
    ],
)
def test_a_grouping_sign_may_have_been_left_out(one, other):
    assert lookalikes(one, ["B9", other]) == [other]
    assert lookalikes(other, ["B9", one]) == [one]


@pytest.mark.parametrize(
    ("one", "other"),
    [("B01", "B1"), ("B01", "801"), ("BO1", "B1"), ("LS007", "LS7"), ("I-05", "I5")],
)
def test_a_zero_behind_a_letter_that_looks_like_a_digit_may_have_been_left_out(one, other):
    assert lookalikes(one, ["B9", other]) == [other]
    assert lookalikes(other, ["B9", one]) == [one]


def test_a_serial_number_holds_the_same_characters():
    assert check_serial_number("SN-0001") == "SN-0001"
    with pytest.raises(LotNumberError, match="A serial number does not hold a blank"):
        check_serial_number("SN 1")
    with pytest.raises(LotNumberError, match="Type the serial number"):
        check_serial_number("")


@pytest.mark.parametrize(
    ("one", "other"),
    [("LOT7", "LOT70"), ("A12", "A13"), ("A-12", "A13"), ("A+2", "A2"), ("100", "10")],
)
def test_numbers_that_are_plainly_two(one, other):
    assert lookalikes(one, [other]) == []


def test_the_same_number_is_not_its_own_lookalike():
    assert lookalikes("LOT7", ["LOT7", "lot7"]) == ["lot7"]
