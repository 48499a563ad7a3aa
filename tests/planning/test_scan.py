"""
What a code says of a pack. Sources: GS1 General Specifications (sections 3.4, 7.8, 7.9, 7.12 and
the examples quoted from it), GS1 Barcode Syntax Engine and GS1 DataMatrix Guideline, check digits
from help pages of GS1 member organisations; the cases are in tests/scan_cases.py.
"""

from datetime import date, time

import biip
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.codes import hibc
from planning.codes.dates import full_year, is_likely, read_date
from planning.scan import Scan, read_scan
from tests.scan_cases import GTIN, NOVEMBER, READ, REFUSED, TODAY, G, P, Read, Refused


@pytest.mark.parametrize("case", READ, ids=lambda case: case.why)
def test_code_is_read(case: Read):
    scan = read_scan(case.text, today=TODAY)
    assert scan.error == ""
    read = (scan.gtin, scan.lot, scan.expiry, scan.serial)
    assert read == (case.gtin, case.lot, case.expiry, case.serial)
    assert len(scan.warnings) == len(case.warnings), scan.warnings
    for warning, part in zip(scan.warnings, case.warnings, strict=True):
        assert part in warning


@pytest.mark.parametrize("case", REFUSED, ids=lambda case: case.why)
def test_code_is_refused_with_a_reason_and_holds_nothing(case: Refused):
    scan = read_scan(case.text, today=TODAY)
    assert case.because in scan.error
    assert scan == Scan(error=scan.error)


@pytest.mark.parametrize("case", [*READ, *REFUSED], ids=lambda case: case.why)
def test_each_sentence_says_what_to_do(case):
    scan = read_scan(case.text, today=TODAY)
    acts = ("scan", "compare", "choose", "type", "look for", "put it aside", "correct")
    for sentence in (*scan.warnings, *filter(None, [scan.error])):
        assert any(act in sentence.lower() for act in acts), sentence
        assert sentence.endswith(".")


def test_further_entries_are_kept():
    text = f"{P}112701017003271130143010LOT42{G}240REF-7"
    assert read_scan(text, today=TODAY) == Scan(
        gtin=GTIN,
        lot="LOT42",
        expiry=NOVEMBER,
        produced=date(2027, 1, 1),
        expiry_time=time(14, 30),
        additional_id="REF-7",
    )


@pytest.mark.parametrize(
    ("text", "complete"),
    [
        (f"{P}1727113010LOT42", True),
        (f"{P}17271130", False),
        (f"{P}10LOT42", False),
        ("1727113010LOT42", False),
        ("", False),
    ],
)
def test_pack_needs_product_lot_and_expiry(text, complete):
    assert read_scan(text, today=TODAY).is_complete is complete


# GS1 General Specifications, section 7.12: 49 years back to 50 ahead. Values: biip 5.2 with its
# clock replaced.
@pytest.mark.parametrize(
    ("current", "two_digits", "year"),
    [
        (2026, 75, 2075), (2026, 76, 2076), (2026, 77, 1977), (2026, 78, 1978), (2026, 99, 1999),
        (2026, 0, 2000), (2026, 49, 2049), (2026, 50, 2050), (2049, 0, 2000), (2049, 99, 2099),
        (2050, 0, 2100), (2050, 1, 2001), (2050, 99, 2099),
    ],
)  # fmt: skip
def test_century_runs_from_49_years_back_to_50_ahead(current, two_digits, year):
    assert full_year(two_digits, current) == year
    assert -49 <= year - current <= 50


# The text of the General Specifications, section 3.4: 130200 is 28 February 2013, 160200 the 29th.
@pytest.mark.parametrize(
    ("digits", "day"), [("130200", date(2013, 2, 28)), ("160200", date(2016, 2, 29))]
)
def test_day_00_is_the_last_of_the_month(digits, day):
    read = read_date(digits, today=date(2013, 1, 1))
    assert (read.day, read.month_only) == (day, True)


def test_clock_of_the_machine_is_never_asked():
    """In 2050 the same digits mean another century."""
    text = f"{P}1700063010A"
    assert read_scan(text, today=date(2026, 11, 30)).expiry == date(2000, 6, 30)
    assert read_scan(text, today=date(2050, 1, 1)).expiry == date(2100, 6, 30)


def test_29_february_is_a_day_of_the_year_that_is_meant():
    """2100 is no leap year, 2000 was one."""
    text = f"{P}1700022910A"
    assert read_scan(text, today=date(2026, 11, 30)).expiry == date(2000, 2, 29)
    assert "no day of the calendar" in read_scan(text, today=date(2050, 1, 1)).error


@pytest.mark.parametrize("today", [date.min, date(2028, 2, 29), date.max])
def test_any_day_can_be_today(today):
    assert read_scan(f"{P}1700022910A", today=today).gtin in ("", GTIN)
    assert is_likely(today, today=today)


# The check characters of the standard's own example (first row, from memory) and of made-up codes,
# computed from the table in `hibc`; modulo 43 is published.
@pytest.mark.parametrize(
    ("data", "check"),
    [
        ("+A123BJC5D6E71", "G"),
        ("+A999FILLER11", "O"),
        ("+A999FILLER11/$$3271130LOT42", "O"),
        ("+A999FILLER11/$$1127LOT42", "I"),
        ("+A999FILLER11/$$527334LOT42", "V"),
        ("+A999FILLER11/$LOT42", "B"),
    ],
)
def test_hibc_is_known_by_its_check_character(data, check):
    assert hibc.check_character(data) == check
    assert read_scan(data + check, today=TODAY).error.startswith("This is an HIBC code")
    wrong = "0" if check != "0" else "1"
    assert "misread" in read_scan(data + wrong, today=TODAY).error


def test_blank_is_a_check_character_of_hibc():
    """It is lost where a field trims what was typed."""
    data = "+A999FILLER0F1"
    assert hibc.check_character(data) == " "
    assert read_scan(f"{data} ", today=TODAY).error.startswith("This is an HIBC code")


NEAR_CODES = st.lists(
    st.sampled_from(
        [P, GTIN, "01", "10", "17", "21", "11", "7003", "240", "30", "00", "02", "91", "271130",
         "270200", "LOT42", "SER9", G, "|", "]d2", "]E0", "(", ")", "(10)", "+", "https://", "/",
         "?", "=", "%", " ", "é", "٣", "\n", "A" * 20]
    )
).map("".join)  # fmt: skip


@settings(deadline=None)  # the library reads its tables at the first use
@given(st.one_of(st.text(max_size=60), NEAR_CODES), st.dates())
def test_no_text_breaks_it(text, today):
    scan = read_scan(text, today=today)
    assert isinstance(scan, Scan)
    if scan.error:
        assert scan == Scan(error=scan.error)
    else:
        assert scan.gtin or scan.lot or scan.expiry or scan.serial


LOTS = st.text(
    st.sampled_from("!\"%&'()*+,-./0123456789:;<=>?ABCXYZ_abcxyz"), min_size=1, max_size=20
)


@settings(deadline=None)
@given(LOTS, LOTS, st.dates(date(2017, 1, 1), date(2036, 1, 1)), st.permutations(range(4)))
def test_what_was_encoded_is_read_whatever_its_order(lot, serial, expiry, order):
    entries = [P, f"10{lot}{G}", f"17{expiry:%y%m%d}", f"21{serial}{G}"]
    scan = read_scan("".join(entries[place] for place in order), today=TODAY)
    assert (scan.gtin, scan.lot, scan.expiry, scan.serial) == (GTIN, lot, expiry, serial)


@settings(deadline=None)
@given(st.text("0123456789", min_size=14, max_size=14))
def test_product_number_is_read_only_where_the_library_accepts_its_check_digit(digits):
    scan = read_scan(f"01{digits}", today=TODAY)
    accepted = biip.parse(f"01{digits}").gtin is not None and digits.strip("0") != ""
    assert (scan.gtin == digits) is accepted
