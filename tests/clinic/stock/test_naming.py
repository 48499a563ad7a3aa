"""
Which unit a label or a code names.

The codes are element strings of the GS1 General Specifications, section 3: (01) product, (10) lot,
(21) serial number; the GTINs are of the prefix 952 that GS1 keeps for examples.
"""

import pytest

from clinic.stock.naming import NotNamed, named
from tests.factories import make_product, make_units

GTIN = "09521234543213"


@pytest.fixture
def product(db):
    return make_product(gtin=GTIN)


@pytest.fixture
def units(owner, product):
    """Two with serial numbers, one without."""
    return make_units(owner, product, quantity=3, serials=["S1", "S2"])


@pytest.mark.parametrize("typed", ["U000002", "u2", "U2", " u000002 ", "u 2"])
def test_a_label_names_its_unit(units, typed):
    meant = named(typed)
    assert (meant.unit, meant.scan) == (units[1], None)
    assert list(meant.units) == [units[1]]


@pytest.mark.parametrize("typed", ["u0", "u", "u1x", "", "  ", "u99999999999999", "\x00", "²"])
def test_what_is_neither_label_nor_code_is_refused_with_what_to_do(units, typed):
    with pytest.raises(NotNamed, match=r"[.:]"):
        named(typed)


def test_a_serial_number_names_the_very_unit(units):
    meant = named(f"01{GTIN}10LOT42\x1d21S2")
    assert meant.unit == units[1]


def test_a_code_without_serial_means_any_unit_of_its_lot(units):
    meant = named(f"(01){GTIN}(10)LOT42")
    assert meant.unit is None
    assert list(meant.units) == units


def test_an_unknown_serial_number_means_a_unit_whose_number_nobody_noted(units):
    assert list(named(f"(01){GTIN}(10)LOT42(21)S9").units) == [units[2]]


def test_a_lot_number_is_compared_letter_by_letter_and_by_product(units, owner):
    make_units(owner, make_product("Other", gtin="09521234543220"), number="lot42")
    meant = named(f"(01){GTIN}(10)lot42")
    assert (meant.lot, list(meant.units)) == (None, [])
    assert meant.product.gtin == GTIN


def test_an_unknown_product_is_kept_with_what_was_read(units):
    meant = named("(01)09521234543220(10)LOT42")
    assert (meant.product, meant.lot, meant.scan.gtin) == (None, None, "09521234543220")


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (f"(01){GTIN}", "names HA filler 1 mL, but no lot"),
        ("(10)LOT42", "names no product"),
        ("(01)09521234543214(10)LOT42", "last digit of this GTIN"),
    ],
)
def test_a_code_that_tells_no_lot_apart_says_what_to_do(units, code, words):
    with pytest.raises(NotNamed, match=words.replace("(", r"\(")):
        named(code)
