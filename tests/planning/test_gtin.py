"""GTINs: published check digits, and two libraries that must agree. Prefix 952 is for examples."""

import pytest
from biip.gtin import Gtin
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean

from planning.gtin import LENGTHS, GtinError, normalise_gtin, packed_item

CHECK_DIGITS = [
    # body, check digit, where it was read
    ("952123454321", "3", "GS1-128 sample, recomputed by hand: 77 -> 3"),
    ("0952123454321", "3", "the same item as GTIN-14"),
    ("1952123454321", "0", "biip 5.2.0: case of the item"),
    ("5952123454321", "8", "biip 5.2.0"),
    ("9952123454321", "6", "biip 5.2.0: variable measure"),
    ("952000000000", "4", "biip 5.2.0"),
    ("0952000000001", "1", "biip 5.2.0, python-stdnum 2.2"),
    ("0952000000002", "8", "biip 5.2.0"),
    ("9521234", "0", "biip 5.2.0: GTIN-8"),
    ("629104150021", "3", "GS1 check digit example"),
    ("061414100001", "2", "biip 5.2.0: twelve digits padded to thirteen"),
    ("730001100001", "7", "GS1 member organisation help page, weighted sum 23"),
    ("890400021003", "7", "GS1 member organisation help page, weighted sum 63"),
    ("03600029145", "2", "textbook UPC-A, weighted sum 58"),
    ("400638133393", "1", "textbook EAN-13, weighted sum 89"),
]


@pytest.mark.parametrize(("body", "check", "source"), CHECK_DIGITS)
def test_a_published_check_digit_is_accepted_and_every_other_refused(
    body: str, check: str, source: str
) -> None:
    assert normalise_gtin(body + check) == (body + check).zfill(14), source
    for digit in "0123456789".replace(check, ""):
        with pytest.raises(GtinError, match=f"should be {check}, not {digit}"):
            normalise_gtin(body + digit)


def test_printed_blanks_and_hyphens_are_ignored() -> None:
    assert normalise_gtin(" 9 521234-543213 ") == "09521234543213"


def test_the_outer_pack_is_another_item() -> None:
    assert normalise_gtin("19521234543210") != normalise_gtin("9521234543213")


REFUSED = [
    ("9521234543210", "should be 3, not 0"),
    ("952123454321", "should be 4, not 1"),  # read as a GTIN-12
    ("9521234", "this one has 7"),
    ("952123454321395", "this one has 15"),
    ("0952123454321X", "only the digits 0 to 9"),
    ("９５２１２３４５４３２１３", "only the digits 0 to 9"),
    ("٩٥٢١٢٣٤٠", "only the digits 0 to 9"),
    ("(01)09521234543213", "only the digits 0 to 9"),
    ("", "is empty"),
    ("  - ", "is empty"),
    ("00000000000000", "names no product"),
]


@pytest.mark.parametrize(("text", "message"), REFUSED)
def test_what_is_not_a_gtin_is_refused_with_the_reason(text: str, message: str) -> None:
    with pytest.raises(GtinError, match=message.replace("(", r"\(")):
        normalise_gtin(text)


numbers = (
    st.sampled_from(LENGTHS)
    .flatmap(lambda length: st.text("0123456789", min_size=length - 1, max_size=length - 1))
    .filter(lambda body: body.strip("0") != "")
)


@given(numbers)
def test_two_libraries_agree_on_every_body(body: str) -> None:
    number = body + ean.calc_check_digit(body)
    assert normalise_gtin(number) == Gtin.parse(number).as_gtin_14()


@pytest.mark.parametrize(
    ("pack", "item"),
    [
        ("19521234543210", "09521234543213"),  # biip 5.2.0: case of the item
        ("59521234543218", "09521234543213"),
        ("99521234543216", ""),  # variable measure: says nothing of what is inside
        ("09521234543213", ""),  # the item itself
    ],
)
def test_outer_pack_names_the_item_inside(pack, item):
    assert packed_item(pack) == item
