"""Taking in what was on the shelves before: a list, looked through first."""

from codecs import BOM_UTF8
from collections.abc import Iterable
from dataclasses import dataclass

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.access.uploads import was_too_large
from clinic.places.models import Place
from clinic.products.models import Product
from clinic.receiving.errors import ListRefused
from clinic.receiving.forms.lists import ListForm, corrected
from clinic.receiving.models import Receipt
from clinic.receiving.services.list_checks import CheckedList, UnknownName, check_list
from clinic.receiving.services.lists import digest_of, receive_list
from planning.csv_text import CsvError
from planning.stock_lines import BadRow, Column, Problem
from planning.stock_table import REASON, StockTable, bad_rows_csv, read_table

# Corrected at a time, so that a form never has more fields than Django reads.
BAD_ROWS_SHOWN, NAMES_SHOWN = 40, 25
LINES_SHOWN, DOUBTS_SHOWN = 100, 20
SAMPLE = settings.BASE_DIR / "fixtures" / "opening_stock_sample.csv"


@dataclass(frozen=True)
class Cell:
    """One cell of a bad row."""

    column: Column
    value: str
    is_wrong: bool


@dataclass(frozen=True)
class ShownRow:
    """A bad row as it is corrected on the page: its cells that hold or lack something."""

    number: int
    problems: tuple[Problem, ...]
    cells: list[Cell]


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def stock_list_import(request):
    """
    A list is looked through, corrected and looked through again; only then is it taken in.

    The page carries the whole list, so that nothing is kept of one that is never taken in.
    """
    if request.method != "POST":
        return render(request, "receiving/list.html", {"form": ListForm()})
    # Asked after the files are read: the upload limit drops what is beyond it.
    form = ListForm(request.POST, request.FILES, is_too_large=was_too_large(request))
    if not form.is_valid():
        return render(request, "receiving/list.html", {"form": form})
    try:
        table = corrected(read_table(form.cleaned_data["text"]), request.POST)
        checked = check_list(table.text, today=timezone.localdate())
    except CsvError as error:
        form.add_error("file" if request.FILES else "list", str(error))
        return render(request, "receiving/list.html", {"form": form})
    act, whole = request.POST.get("act", ""), form.cleaned_data["whole"]
    if act == "bad-rows":
        return _bad_rows_file(checked)
    if act == "without-bad-rows" and checked.lines and checked.bad_rows:
        whole = whole or checked.table.text
        kept = checked.table.without({row.number for row in checked.bad_rows})
        checked = check_list(kept.text, today=timezone.localdate())
    if act == "receive":
        return _received(request, checked, whole)
    return _page(request, checked, whole)


def _received(request, checked: CheckedList, whole: str):
    """Take it in; rows that were left out come back, to be corrected and taken in by themselves."""
    if checked.doubts and request.POST.get("is_sure") != "on":
        words = "Nothing was received yet: look at the questions, then set the tick."
        return _page(request, checked, whole, problem=words)
    try:
        receipt, is_new = receive_list(
            text=checked.table.text, digest=request.POST.get("digest", ""), actor=request.user
        )
    except ListRefused as error:
        return _page(request, checked, whole, problem=str(error))
    if is_new:
        messages.success(request, f"{receipt.units:,} units received into stock.")
    else:
        messages.info(
            request,
            f"This list was taken in on {timezone.localtime(receipt.at):%-d %b %Y, %H:%M} already: "
            "nothing was received again.",
        )
    if whole:
        left_out = read_table(whole).without({number for number, _ in checked.lines})
        if len(left_out.rows) > 1:  # more than the headings
            checked = check_list(left_out.text, today=timezone.localdate())
            return _page(request, checked, "", receipt=receipt)
    return redirect("receiving-labels", pk=receipt.pk)


def _bad_rows_file(checked: CheckedList) -> HttpResponse:
    """The bad rows with their reasons; the mark tells spreadsheet programs that it is UTF-8."""
    text = bad_rows_csv(checked.table, checked.bad_rows)
    headers = {"Content-Disposition": 'attachment; filename="rows-to-correct.csv"'}
    content = BOM_UTF8 + text.encode()
    return HttpResponse(content, content_type="text/csv; charset=utf-8", headers=headers)


def _page(
    request, checked: CheckedList, whole: str, *, problem: str = "", receipt: Receipt | None = None
):
    """
    Args:
        whole: the list before rows were left out; "" if none were.
        receipt: of the other rows of the list, just received.
    """
    names = checked.unknown_names[:NAMES_SHOWN]
    bad_rows = _beside_names(checked.bad_rows, names)
    products = Product.objects.filter(is_active=True).order_by("name")
    context = {
        "checked": checked,
        "receipt": receipt,
        "figures": {
            "rows": f"{checked.rows:,}",
            "bad": f"{len(checked.bad_rows):,}",
            "good": f"{len(checked.lines):,}",
            "units": f"{checked.units:,}",
        },
        "text": checked.table.text,
        "whole": whole,
        "left_out": len(read_table(whole).rows) - 1 - checked.rows if whole else 0,
        "unknown_columns": [name for name in checked.unknown_columns if name != REASON],
        "digest": digest_of(checked),
        "problem": problem,
        "bad_rows": [_shown(checked.table, row) for row in bad_rows[:BAD_ROWS_SHOWN]],
        "more_bad_rows": max(len(bad_rows) - BAD_ROWS_SHOWN, 0),
        "unknown_names": names,
        "lines": checked.lines[:LINES_SHOWN],
        "totals": _totals(checked),
        "doubts": checked.doubts[:DOUBTS_SHOWN],
        "more_doubts": max(len(checked.doubts) - DOUBTS_SHOWN, 0),
        "names": {
            "product": [product.name for product in products],
            "place": [str(place) for place in Place.objects.in_use()],
        },
    }
    return render(request, "receiving/list_checked.html", context)


def _beside_names(bad_rows: Iterable[BadRow], names: Iterable[UnknownName]) -> list[BadRow]:
    """Those with more wrong than the names that are asked about once for all rows."""
    asked = {(unknown.column.label, unknown.name) for unknown in names}
    return [
        row
        for row in bad_rows
        if any((problem.column, problem.value) not in asked for problem in row.problems)
    ]


def _shown(table: StockTable, row: BadRow) -> ShownRow:
    wrong = {problem.column for problem in row.problems}
    columns = sorted(table.columns, key=lambda column: table.columns[column])
    cells = [
        Cell(column, table.cell(row.number, column), column.label in wrong) for column in columns
    ]
    return ShownRow(row.number, row.problems, [one for one in cells if one.value or one.is_wrong])


def _totals(checked: CheckedList) -> list[tuple[Product, str, str]]:
    """Of each product its lots and units, by name."""
    lots: dict[Product, set[str]] = {}
    units: dict[Product, int] = {}
    for _, line in checked.lines:
        lots.setdefault(line.product, set()).add(line.number)
        units[line.product] = units.get(line.product, 0) + line.quantity
    products = sorted(lots, key=lambda product: product.name)
    return [(product, f"{len(lots[product]):,}", f"{units[product]:,}") for product in products]


@allow(Role.OWNER)
@require_GET
def stock_list_sample(request):
    """A list with invented rows, to be filled in with the clinic's own."""
    headers = {"Content-Disposition": 'attachment; filename="opening-stock.csv"'}
    content = BOM_UTF8 + SAMPLE.read_bytes()
    return HttpResponse(content, content_type="text/csv; charset=utf-8", headers=headers)
