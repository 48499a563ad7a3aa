"""The form that takes an opening stock list, as a file or pasted, and corrections of its rows."""

import re
from collections.abc import Iterator

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout
from django import forms
from django.http import QueryDict

from planning.csv_text import CsvError, decode
from planning.stock_lines import Column
from planning.stock_table import StockTable, read_table

MOST_BYTES = 2_000_000  # a form of more is not read at all
_CELL = re.compile(r"cell-([0-9]{1,6})-([a-z]{1,12})")
_RENAME = re.compile(r"rename-(product|place)-([0-9]{1,4})")


class ListForm(forms.Form):
    """
    A list, either chosen as a file or pasted: `text` is what it says. `whole` is the list before
    rows were left out of it, "" if none were.
    """

    file = forms.FileField(
        label="The list as a file",
        required=False,
        help_text="CSV, as a spreadsheet program saves it.",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,text/csv,text/plain"}),
    )
    list = forms.CharField(
        label="Or pasted here",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false", "wrap": "off"}),
    )

    whole = forms.CharField(required=False, strip=False, widget=forms.HiddenInput)

    def __init__(self, *args, is_too_large: bool = False, **kwargs):
        super().__init__(*args, **kwargs)
        self.is_too_large = is_too_large
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.layout = Layout("file", "list")

    def clean_whole(self) -> str:
        """Ours, or nothing: what cannot be read was never sent by the page."""
        whole = self.cleaned_data["whole"]
        try:
            read_table(whole)
        except CsvError:
            return ""
        return whole

    def clean(self):
        cleaned = super().clean()
        file, pasted = cleaned.get("file"), cleaned.get("list", "")
        if self.is_too_large or (file and file.size > MOST_BYTES) or len(pasted) > MOST_BYTES:
            self.add_error("file", "A list has at most 2 MB: divide it, and take in each part.")
        elif file:
            self._read("file", file.read())
        elif pasted.strip():
            self._read("list", pasted.encode())
        elif "file" not in self.errors:
            self.add_error("file", "Choose a file, or paste the list below.")
        return cleaned

    def _read(self, field: str, data: bytes) -> None:
        try:
            self.cleaned_data["text"] = decode(data)
        except CsvError as error:
            self.add_error(field, str(error))


def corrected(table: StockTable, sent: QueryDict) -> StockTable:
    """
    The table with what was changed on the page: single cells `cell-<row>-<column>`, and names
    `rename-<column>-<n>` that stand for the one in `was-<column>-<n>` wherever it is.
    """
    cells = {
        (int(row), Column(column)): value
        for (row, column), value in _named(_CELL, sent)
        if column in {one.value for one in Column}
    }
    table = table.with_cells(cells)
    for (column, index), name in _named(_RENAME, sent):
        if name:
            was = sent.get(f"was-{column}-{index}", "")
            table = table.renamed(Column(column), {was: name})
    return table


def _named(pattern: re.Pattern, sent: QueryDict) -> Iterator[tuple[tuple[str, str], str]]:
    for name in sent:
        if match := pattern.fullmatch(name):
            first, second = match.groups()
            yield (first, second), str(sent[name])
