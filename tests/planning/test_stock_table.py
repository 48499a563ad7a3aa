"""A stock list corrected in place: RFC 4180 for quoting; the headings are our own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.csv_text import CsvError
from planning.stock_lines import Column
from planning.stock_list import read_stock_list
from planning.stock_table import StockTable, bad_rows_csv, read_table

HEADINGS = "Product,Lot,Expiry,Quantity"


def lots(text: str) -> list[tuple[int, str]]:
    return [(line.number, line.lot) for line in read_stock_list(text).lines]


def test_a_corrected_cell_is_read_in_the_same_row() -> None:
    table = read_table(f"{HEADINGS}\nSoft,L 1,2030-01-31,1\n\nSoft,L2,2030-01-31,1")
    text = table.with_cells({(2, Column.LOT): " L1 ", (4, Column.QUANTITY): "7"}).text
    assert lots(text) == [(2, "L1"), (4, "L2")]
    assert [line.quantity for line in read_stock_list(text).lines] == [1, 7]


def test_a_row_taken_out_leaves_its_number_free() -> None:
    table = read_table(f"{HEADINGS}\nSoft,L1,2030-01-31,1\nSoft,L2,2030-01-31,1")
    assert lots(table.without({2}).text) == [(3, "L2")]


def test_a_name_is_changed_wherever_it_stands() -> None:
    table = read_table(
        f"{HEADINGS}\nsoft,L1,2030-01-31,1\nDeep,L2,2030-01-31,1\nsoft,L3,2030-01-31,1"
    )
    renamed = table.renamed(Column.PRODUCT, {"soft": "Soft, 1 mL"})
    assert [line.product for line in read_stock_list(renamed.text).lines] == [
        "Soft, 1 mL", "Deep", "Soft, 1 mL",
    ]  # fmt: skip


def test_a_short_row_gets_the_cell_it_lacks() -> None:
    table = read_table(f"{HEADINGS},Place\nSoft,L1,2030-01-31,1")
    (line,) = read_stock_list(table.with_cells({(2, Column.PLACE): "Fridge"}).text).lines
    assert line.place == "Fridge"


def test_headings_and_what_is_not_there_stay_as_they_are() -> None:
    table = read_table(f"{HEADINGS}\nSoft,L1,2030-01-31,1")
    changes = {(1, Column.LOT): "x", (9, Column.LOT): "x", (2, Column.GTIN): "x"}
    assert table.with_cells(changes).text == table.text
    assert (table.cell(2, Column.GTIN), table.cell(9, Column.LOT)) == ("", "")


def test_rows_above_the_headings_and_other_columns_keep_their_place() -> None:
    text = "\n\nNote;Lot;Expiry;Quantity;Product\n=x;L1;2030-01-31;1;Soft"
    assert lots(read_table(text).text) == lots(text) == [(4, "L1")]
    assert read_table(text).headings == ("Note", "Lot", "Expiry", "Quantity", "Product")


def test_bad_rows_are_written_with_the_reason_and_read_again() -> None:
    text = f"{HEADINGS}\nSoft,L 1,2030-01-31,1\nSoft,L2,2030-01-31,1\n=1+1,L3,soon"
    table, stock = read_table(text), read_stock_list(text)
    written = bad_rows_csv(table, stock.bad_rows)
    rows = written.splitlines()
    assert rows[0] == "Product,Lot,Expiry,Quantity,Reason"
    assert rows[1].startswith(
        'Soft,L 1,2030-01-31,1,"Lot “L 1”: a lot number does not hold a blank'
    )
    assert rows[2].startswith("'=1+1,L3,soon,,")
    again = read_stock_list(written)
    assert again.unknown_columns == ("Reason",)
    assert [bad.cells[:3] for bad in again.bad_rows] == [
        ("Soft", "L 1", "2030-01-31"), ("=1+1", "L3", "soon"),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["", "Lot,Expiry,Quantity\n1,2,3", f'{HEADINGS}\n"open,1,2,3'])
def test_what_is_no_list_is_refused_as_it_is_read(text: str) -> None:
    with pytest.raises(CsvError):
        read_table(text)


cells = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], include_characters="\n"), max_size=12
)


@given(st.lists(st.tuples(cells, cells, cells, cells), max_size=6))
def test_writing_and_reading_again_changes_nothing(rows: list[tuple[str, ...]]) -> None:
    columns = read_table(HEADINGS).columns
    table = StockTable({1: tuple(HEADINGS.split(",")), **dict(enumerate(rows, start=2))}, columns)
    once = read_table(table.text)
    assert read_table(once.text) == once
