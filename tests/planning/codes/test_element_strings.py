"""A code put together reads as what it was made of, by biip and by our own reader."""

from datetime import date

from biip.gs1_messages import GS1Message
from hypothesis import given
from hypothesis import strategies as st

from planning.codes.element_strings import element_string
from planning.scan import read_scan

GTIN = "09521234543213"
# Letters of a lot by GS1 General Specifications, figure 7.11-1 (character set 82), less brackets.
LETTERS = "ABCxyz0189!\"%&'*+,-./:;<=>?_"


def test_the_order_is_product_expiry_lot_serial():
    text = element_string(GTIN, expiry=date(2030, 6, 30), lot="LOT42", serial="S1")
    assert text == "(01)09521234543213(17)300630(10)LOT42(21)S1"


@given(
    st.text(LETTERS, min_size=1, max_size=20),
    st.text(LETTERS, max_size=20),
    st.dates(date(2020, 1, 1), date(2049, 12, 31)),
)
def test_what_is_written_is_read_again(lot, serial, expiry):
    text = element_string(GTIN, expiry=expiry, lot=lot, serial=serial)
    read = [(one.ai.ai, one.value) for one in GS1Message.parse_hri(text).element_strings]
    rest = [("21", serial)] if serial else []
    assert read == [("01", GTIN), ("17", f"{expiry:%y%m%d}"), ("10", lot), *rest]
    scan = read_scan(text, today=date(2026, 11, 25))
    assert (scan.gtin, scan.lot, scan.serial, scan.expiry) == (GTIN, lot, serial, expiry)
