"""Single cells: days in each order, sexes, telephone numbers, amounts; and guessed columns."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.imports.cells import (
    CellError,
    orders_in,
    read_code,
    read_day,
    read_email,
    read_given,
    read_phone,
    read_sex,
    says_nothing,
)
from planning.imports.columns import DateOrder, Kind, guessed_columns, missing_columns
from planning.vocabulary import Measure

DAY, MONTH = DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST


@given(st.dates(min_value=date(1900, 1, 1), max_value=date(2099, 12, 31)))
def test_every_day_is_read_back_in_each_way_it_is_written(day):
    """Written by Python's own strftime."""
    for order, form in [
        (None, "%Y-%m-%d"), (None, "%Y-%m-%d 00:00:00"), (None, "%Y/%m/%d"), (None, "%d %B %Y"),
        (None, "%d-%b-%Y"), (DAY, "%d/%m/%Y"), (DAY, "%-d.%-m.%Y"), (MONTH, "%m/%d/%Y"),
        (MONTH, "%-m-%-d-%Y"), (DAY, "%d/%m/%Y 14:30"),
    ]:  # fmt: skip
        assert read_day(day.strftime(form), order) == day


@pytest.mark.parametrize(
    ("text", "order", "words"),
    [
        ("03/04/1980", None, "no way"),
        ("17/05/80", DAY, "four digits"),
        ("05/17/1980", DAY, "no month 17"),
        ("17/05/1980", MONTH, "no month 17"),
        ("31/02/1980", DAY, "no such day"),
        ("29358", DAY, "a number and no day"),
        ("17 Juk 1980", DAY, "no month"),
        ("yesterday", DAY, "no day that can be read"),
        ("١٧/٠٥/١٩٨٠", DAY, "no day that can be read"),
    ],
)
def test_a_day_that_is_not_certain_is_refused(text, order, words):
    with pytest.raises(CellError, match=words):
        read_day(text, order)


def test_without_an_order_what_can_be_read_in_one_way_is():
    assert read_day("17/05/1980", None) == date(1980, 5, 17) == read_day("05/17/1980", None)
    assert read_day("05/05/1980", None) == date(1980, 5, 5)


@pytest.mark.parametrize(
    ("texts", "shown", "is_open"),
    [
        (["1980-05-17", "17 May 1980", ""], set(), False),
        (["17/05/1980", "03/04/1980"], {DAY}, True),
        (["05/17/1980"], {MONTH}, False),
        (["03/04/1980", "05/05/1980"], set(), True),
        (["17/05/1980", "05/17/1980"], {DAY, MONTH}, False),
    ],
)
def test_the_order_of_a_column_is_what_its_days_show(texts, shown, is_open):
    assert orders_in(texts) == (frozenset(shown), is_open)


@pytest.mark.parametrize(
    ("text", "key"),
    [("F", "female"), ("Männlich", "male"), ("w", "female"), ("2", "female"), ("1", "male"),
     ("X", "other"), ("non-binary", "other"), ("0", "not_stated"), ("n/a", "not_stated")],
)  # fmt: skip
def test_sexes_are_read_as_they_are_written(text, key):
    assert read_sex(text) == key


def test_another_word_is_no_sex():
    with pytest.raises(CellError):
        read_sex("yes")


@pytest.mark.parametrize("text", ["4.47912E+11", "4,47E+11", "4.5e11", "+4.4E+10"])
def test_what_a_spreadsheet_shortened_is_no_telephone_number(text):
    with pytest.raises(CellError, match="shortened"):
        read_phone(text)
    with pytest.raises(CellError, match="shortened"):
        read_code(text, 64)


def test_telephone_numbers_stay_as_they_are_written():
    assert read_phone("+44 (0)20  7946-0123") == "+44 (0)20 7946-0123"
    for text in ("call mum", "020 7946 0123 / 020 7946 0456 / 020 7946 0789", "--"):
        with pytest.raises(CellError):
            read_phone(text)


@pytest.mark.parametrize("text", ["ann", "ann@", "ann@x", "a b@example.org", "<a@example.org>"])
def test_what_is_no_address_is_refused(text):
    with pytest.raises(CellError):
        read_email(text)


@pytest.mark.parametrize(
    ("text", "default", "given"),
    [
        ("0.5 mL", None, (500, Measure.VOLUME)),
        ("0,5ml", Measure.DOSE, (500, Measure.VOLUME)),
        ("20 units", None, (2000, Measure.DOSE)),
        ("20 U", None, (2000, Measure.DOSE)),
        ("20", Measure.DOSE, (2000, Measure.DOSE)),
        ("1", Measure.VOLUME, (1000, Measure.VOLUME)),
    ],
)
def test_an_amount_says_its_unit_or_the_file_does(text, default, given):
    assert read_given(text, default) == given


@pytest.mark.parametrize("text", ["20", "1,500 mL", "2 syringes", "0 mL", "-1 mL", "1/2 mL"])
def test_an_amount_that_is_not_certain_is_refused(text):
    with pytest.raises(CellError):
        read_given(text, None)


@pytest.mark.parametrize("text", ["None", " nil ", "NKDA", "N/A", "-", ""])
def test_none_is_no_warning(text):
    assert says_nothing(text)


def test_a_warning_is_kept():
    assert not says_nothing("No lidocaine")


def test_columns_are_guessed_by_their_headings_once_each():
    headings = ["Client_ID", "Surname", "First Name", "D.O.B.", "E-Mail", "Mobile", "Shoe size"]
    assert guessed_columns(Kind.PATIENTS, headings) == {
        "former_number": 0, "full_name": 1, "first_names": 2, "birth_date": 3, "email": 4,
        "phone": 5,
    }  # fmt: skip


def test_our_own_file_of_refused_rows_is_guessed_as_before():
    headings = ["Row", "Column", "Reason", "Name", "Date of birth"]
    assert guessed_columns(Kind.PATIENTS, headings) == {"full_name": 3, "birth_date": 4}


def test_what_is_needed_is_asked_for():
    assert set(missing_columns(Kind.PATIENTS, {"full_name": 0})) == {"birth_date"}
    needed = {"treated_on": 0, "product": 1}
    assert set(missing_columns(Kind.TREATMENTS, needed)) == {"former_number"}
    assert not missing_columns(Kind.TREATMENTS, needed | {"record_number": 2})
    assert not missing_columns(Kind.TREATMENTS, needed | {"full_name": 2, "birth_date": 3})
