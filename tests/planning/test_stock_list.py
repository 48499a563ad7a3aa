"""
The opening stock list. GTINs use the example prefix 952 of GS1; lot numbers and check digits follow
the GS1 General Specifications (3.4.1, 7.9), dates ISO 8601 or day first. The headings are our own.
"""

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.csv_text import CsvError, read_rows
from planning.stock_list import StockLine, StockList, read_stock_list

GTIN = "9521234543213"
HEADINGS = "Product,GTIN,Lot,Expiry,Quantity,Place,Serial,Received"


def read(*rows: str, headings: str = HEADINGS) -> StockList:
    return read_stock_list("\r\n".join((headings, *rows)))


def problems(stock: StockList) -> list[tuple[int, list[str]]]:
    return [(bad.number, [str(problem) for problem in bad.problems]) for bad in stock.bad_rows]


def test_a_full_row_becomes_a_line() -> None:
    stock = read(f"Aurelle Soft,{GTIN},LOT42,2027-06-30,1,Fridge,SN-1,24/11/2026")
    assert stock == StockList(
        lines=(
            StockLine(
                number=2,
                product="Aurelle Soft",
                gtin="09521234543213",
                lot="LOT42",
                expires_on=date(2027, 6, 30),
                quantity=1,
                place="Fridge",
                serial="SN-1",
                received_on=date(2026, 11, 24),
            ),
        ),
        bad_rows=(),
        doubts=(),
        unknown_columns=(),
    )


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_order_case_and_separator_of_the_columns_do_not_matter(separator: str) -> None:
    headings = separator.join(["QUANTITY", '"use by"', "product_name", " Lot  Number "])
    (line,) = read(separator.join(["6", "2027-06-30", "Aurelle", "007"]), headings=headings).lines
    assert (line.quantity, line.expires_on, line.product, line.lot) == (
        6,
        date(2027, 6, 30),
        "Aurelle",
        "007",
    )


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("2027-06-30", date(2027, 6, 30)),
        ("2027-06-30 00:00:00", date(2027, 6, 30)),  # a day as spreadsheets hold it
        ("30/06/2027", date(2027, 6, 30)),
        ("3/6/2027", date(2027, 6, 3)),
        ("29/02/2028", date(2028, 2, 29)),
    ],
)
def test_a_date_is_read_in_two_forms(typed: str, day: date) -> None:
    (line,) = read(f"Aurelle,,L1,{typed},1").lines
    assert line.expires_on == day


BOTH_FORMS = "type YYYY-MM-DD or, day first, DD/MM/YYYY."


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("", f"Expiry: {BOTH_FORMS}"),
        ("06/30/2027", f"Expiry “06/30/2027”: there is no month 30: {BOTH_FORMS}"),
        ("31/06/2027", f"Expiry “31/06/2027”: this day does not exist: {BOTH_FORMS}"),
        ("29/02/2027", f"Expiry “29/02/2027”: this day does not exist: {BOTH_FORMS}"),
        ("30/06/27", f"Expiry “30/06/27”: {BOTH_FORMS}"),
        ("30.06.2027", f"Expiry “30.06.2027”: {BOTH_FORMS}"),
        ("2027-06", f"Expiry “2027-06”: {BOTH_FORMS}"),
        ("Jun 2027", f"Expiry “Jun 2027”: {BOTH_FORMS}"),
        ("46568", f"Expiry “46568”: {BOTH_FORMS}"),
        ("0027-06-30", f"Expiry “0027-06-30”: compare the year with the box: {BOTH_FORMS}"),
        ("00/00/2027", f"Expiry “00/00/2027”: this day does not exist: {BOTH_FORMS}"),
    ],
)
def test_no_other_date_is_guessed(typed: str, message: str) -> None:
    stock = read(f"Aurelle,,L1,{typed},1")
    assert stock.lines == ()
    assert problems(stock) == [(2, [message])]


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (",,L1,2027-06-30,1", "Product: type the product's name or its GTIN."),
        ("Aurelle,,,2027-06-30,1", "Lot: type the lot number as it is printed on the box."),
        ("Aurelle,,L 1,2027-06-30,1", "Lot “L 1”: a lot number does not hold a blank"),
        ("Aurelle,,1.2E+05,2027-06-30,1", "Lot “1.2E+05”: the spreadsheet has shortened"),
        ('Aurelle,,"=""007""",2027-06-30,1', "this is a formula"),
        (",9521234543210,L1,2027-06-30,1", "the last digit of this GTIN should be 3"),
        (",9.52123E+12,L1,2027-06-30,1", "the spreadsheet has shortened this number"),
        (",952,L1,2027-06-30,1", "GTIN “952”: a GTIN has 8, 12, 13 or 14 digits"),
        ("Aurelle,,L1,2027-06-30,", "Quantity: type the number of units as a whole number"),
        ("Aurelle,,L1,2027-06-30,0", "as a whole number from 1 to 500."),
        ("Aurelle,,L1,2027-06-30,501", "as a whole number from 1 to 500."),
        ("Aurelle,,L1,2027-06-30,2.5", "Quantity “2.5”: type the number of units"),
        ("Aurelle,,L1,2027-06-30,²", "Quantity “²”: type the number of units"),
        ("Aurelle,,L1,2027-06-30,-1", "Quantity “-1”: type the number of units"),
        ("Aurelle,,L1,2027-06-30,2,,SN1", "a serial number is on one unit"),
        ("Aurelle,,L1,2027-06-30,1,,S N", "Serial “S N”: a serial number does not hold a blank"),
        ("Aurelle,,L1,2027-06-30,1,,,soon", f"Received “soon”: {BOTH_FORMS}"),
        ("Aur\u200belle,,L1,2027-06-30,1", "it holds a sign that cannot be seen"),
        (f"{'A' * 201},,L1,2027-06-30,1", "it is longer than 200 characters"),
        ("Aurelle,,L1,2027-06-30,1,,,,over", "Beyond the headings “over”: there are more cells"),
    ],
)
def test_a_bad_cell_is_named_with_its_row_value_and_what_to_do(row: str, message: str) -> None:
    ((number, [problem]),) = problems(read(row))
    assert number == 2
    assert message in problem


def test_everything_wrong_with_a_row_is_said_at_once() -> None:
    (bad,) = read(",,,soon,many").bad_rows
    assert [problem.column for problem in bad.problems] == ["Product", "Lot", "Expiry", "Quantity"]
    assert bad.cells == ("", "", "", "soon", "many")


def test_good_rows_are_kept_beside_bad_ones() -> None:
    stock = read("Aurelle,,L1,2027-06-30,1", "", "Aurelle,,L2,soon,1", "Aurelle,,L3,2027-06-30,2")
    assert [line.number for line in stock.lines] == [2, 5]
    assert [bad.number for bad in stock.bad_rows] == [4]


def test_one_lot_with_two_expiries_is_wrong_in_all_its_rows() -> None:
    stock = read(
        f"Aurelle,{GTIN},L1,2027-06-30,1",
        f"Aurelle Soft,0{GTIN},L1,2027-07-31,1",
        "Aurelle,,L1,2027-08-31,1",  # by name alone: perhaps another product
    )
    message = "rows 2 and 3 give this lot different dates: compare the boxes."
    assert problems(stock) == [
        (2, [f"Expiry “2027-06-30”: {message}"]),
        (3, [f"Expiry “2027-07-31”: {message}"]),
    ]
    assert [line.number for line in stock.lines] == [4]


def test_one_serial_number_is_on_one_unit() -> None:
    stock = read(*["Aurelle,,L1,2027-06-30,1,,SN1"] * 2, "Other,,L1,2027-06-30,1,,SN1")
    message = "Serial “SN1”: rows 2 and 3 have the same serial number: compare the boxes."
    assert problems(stock) == [(2, [message]), (3, [message])]
    assert [line.number for line in stock.lines] == [4]


def test_rows_that_are_the_same_are_asked_about() -> None:
    stock = read(*["Aurelle,,L1,2027-06-30,1"] * 3, "Aurelle,,L1,2027-06-30,2")
    assert len(stock.lines) == 4
    (doubt,) = stock.doubts
    assert doubt.numbers == (2, 3, 4)
    assert doubt.message == (
        "The same is in rows 2, 3 and 4. If units were listed twice, take one row out."
    )


def test_a_date_with_the_month_first_casts_doubt_on_the_others() -> None:
    stock = read("Aurelle,,L1,06/30/2027,1", "Aurelle,,L2,06/05/2027,1", "Aurelle,,L3,2027-06-05,1")
    assert [bad.number for bad in stock.bad_rows] == [2]
    (doubt,) = stock.doubts
    assert doubt.numbers == (3,)
    assert doubt.message.endswith("have the day first in row 3.")


def test_of_many_rows_the_first_are_named() -> None:
    (doubt,) = read(*["Aurelle,,L1,2027-06-30,1"] * 9).doubts
    assert "rows 2, 3, 4, 5, 6, 7, 8, 9 and 10. " in doubt.message
    (doubt,) = read(*["Aurelle,,L1,2027-06-30,1"] * 40).doubts
    assert "rows 2, 3, 4, 5, 6, 7, 8, 9 and 32 more. " in doubt.message
    assert len(doubt.numbers) == 40


def test_a_column_nobody_knows_is_named_and_its_cells_are_not_read() -> None:
    stock = read("Aurelle,L1,2027-06-30,1,42", headings="Product,Lot,Expiry,Quantity,Price")
    assert stock.unknown_columns == ("Price",)
    assert len(stock.lines) == 1


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("Product,Lot\nA,L1", "Missing: Expiry, Quantity. Found: Product, Lot."),
        ("Lot,Expiry,Quantity\nL1,2027-06-30,1", "Missing: Product or GTIN."),
        ("Aurelle,L1,2027-06-30,1", "The first row must hold the headings."),
        (",,,\n", "Missing: Product or GTIN, Lot, Expiry, Quantity. Found: none."),
        (HEADINGS, "There is no row below the headings."),
        (f"{HEADINGS},batch\nA", "Two columns are headed Lot"),
        (f'{HEADINGS}\nA,,"L1,2027-06-30,1\nB,,L2,2027-06-30,1', "Row 2 cannot be told apart"),
    ],
)
def test_a_file_that_is_no_list_is_refused_as_a_whole(text: str, message: str) -> None:
    with pytest.raises(CsvError, match=message):
        read_stock_list(text)


def test_what_our_own_export_guarded_is_understood() -> None:
    # A lot that begins like a formula is written with an apostrophe before it.
    (line,) = read("'=Aurelle,,'-12A,2027-06-30,1").lines
    assert (line.product, line.lot) == ("=Aurelle", "-12A")


CELL = st.sampled_from(
    ["", " ", "A", "Aurelle", GTIN, "L1", "L 2", "2027-06-30", "30/06/2027", "06/30/2027", "1", "2"]
) | st.text(max_size=6)


@given(st.lists(st.lists(CELL, max_size=10), min_size=1, max_size=8), st.sampled_from(",;\t"))
def test_no_row_is_lost(table: list[list[str]], separator: str) -> None:
    file = io.StringIO(newline="")
    writer = csv.writer(file, delimiter=separator)
    writer.writerow(HEADINGS.split(","))
    writer.writerows(table)
    text = file.getvalue()
    filled = [row.number for row in read_rows(text, separator)][1:]
    try:
        stock = read_stock_list(text)
    except CsvError as refusal:
        # Only a list without rows is refused as a whole.
        assert not filled
        assert "no row below" in str(refusal)  # noqa: PT017
        return
    numbers = [line.number for line in stock.lines] + [bad.number for bad in stock.bad_rows]
    assert sorted(numbers) == filled
    assert all(bad.problems for bad in stock.bad_rows)
