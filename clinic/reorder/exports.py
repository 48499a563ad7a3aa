"""The order list as a table for a spreadsheet."""

from collections.abc import Iterator

from clinic.printing.csv_files import as_text, csv_lines
from clinic.reorder.queries import ReorderRow, orders_by_supplier

COLUMNS = ["supplier", "product", "maker", "gtin", "units", "units_per_pack", "packs", "on_hand"]


def orders_as_csv(rows: list[ReorderRow]) -> Iterator[str]:
    """The products to order, supplier by supplier."""
    cells = (_cells(row) for _, group in orders_by_supplier(rows) for row in group)
    return csv_lines(COLUMNS, cells)


def _cells(row: ReorderRow) -> list[object]:
    product = row.product
    return [
        as_text(product.supplier), as_text(product.name), as_text(product.maker),
        product.gtin or "", row.units_in_packs, product.units_per_pack,
        row.packs, row.on_hand,
    ]  # fmt: skip
