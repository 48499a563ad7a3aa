"""Forms of an import: the file, which column is which, and why it is undone."""

from collections.abc import Iterator
from dataclasses import dataclass

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Layout
from django import forms
from django.forms import BoundField

from clinic.access.uploads import MOST_BYTES
from clinic.database.form_fields import name_what_is_required
from planning.imports.columns import COLUMNS, DATE_COLUMNS, Column, DateOrder, Kind, missing_columns
from planning.imports.reading import Letters
from planning.vocabulary import Measure
from records.imports.models import Import
from records.imports.services.mapping import orders_of

_LOOKED_THROUGH = 20
_BOTH_WAYS = "Each day of this file can be read in two ways: say which stands first."
_CONTRADICTORY = (
    "Some days of this file have the day first and some the month first. Say which order holds; "
    "rows that do not fit are refused."
)


class UploadForm(forms.Form):
    kind = forms.ChoiceField(
        label="What the file holds",
        choices=Kind.choices(),
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what the file holds."},
    )
    file = forms.FileField(
        label="The file",
        required=False,
        help_text="CSV, as a spreadsheet program saves it. At most 25 MB and 200,000 rows.",
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,text/csv,text/plain"}),
    )
    letters = forms.ChoiceField(
        label="Its letters",
        required=False,
        choices=[("", "Found by the clinic’s computer"), *Letters.choices()],
        help_text="Choose only if names look wrong in the next step.",
    )

    def __init__(self, *args, is_too_large: bool = False, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.is_too_large = is_too_large
        self.helper = FormHelper()
        self.helper.form_action = "import-list"
        self.helper.attrs = {"data-once": "", "enctype": "multipart/form-data"}
        self.helper.layout = Layout(
            "kind", "file", "letters",
            HTML('<div class="form-actions"><button class="button button--primary" type="submit">'
                 "Upload and choose columns</button></div>"),
        )  # fmt: skip

    def clean(self):
        data = super().clean() or self.cleaned_data
        if self.is_too_large:
            self.add_error("file", f"A file has at most {MOST_BYTES // 2**20} MB: divide it.")
        elif not data.get("file") and "file" not in self.errors:
            self.add_error("file", "Choose the file.")
        data["letters"] = Letters(data["letters"]) if data.get("letters") else None
        return data


@dataclass(frozen=True)
class MappedField:
    """One of our columns on the mapping page: its choice, and what the first rows hold there."""

    column: Column
    bound: BoundField


class MappingForm(forms.Form):
    """A choice of theirs for each of our columns; `date_order` is asked where the days need it."""

    date_order = forms.ChoiceField(
        label="Days with the year last",
        required=False,
        choices=[("", "As the file shows"), *DateOrder.choices()],
        help_text="Asked where the file does not show it.",
    )
    measure = forms.ChoiceField(
        label="Amounts without a unit",
        required=False,
        choices=[("", "Refuse them"), (Measure.VOLUME.value, "Are mL"),
                 (Measure.DOSE.value, "Are units")],
    )  # fmt: skip

    def __init__(self, data=None, *, taken: Import) -> None:
        super().__init__(data, initial={"date_order": taken.date_order, "measure": taken.measure})
        self.taken, self.kind = taken, Kind(taken.kind)
        theirs = [("", "Not in the file"), *_theirs(taken)]
        for column in COLUMNS[self.kind]:
            self.fields[_name(column)] = forms.ChoiceField(
                label=column.label,
                required=False,
                choices=theirs,
                help_text=column.help,
                initial=str(taken.mapping.get(column.key, "")),
            )
        if self.kind is Kind.PATIENTS:
            del self.fields["measure"]

    @property
    def rows(self) -> Iterator[MappedField]:
        for column in COLUMNS[self.kind]:
            yield MappedField(column, self[_name(column)])

    @property
    def mapping(self) -> dict[str, int]:
        chosen = {column.key: self.cleaned_data.get(_name(column)) for column in COLUMNS[self.kind]}
        return {key: int(place) for key, place in chosen.items() if place not in ("", None)}

    def clean(self):
        data = super().clean() or self.cleaned_data
        if self.errors:
            return data
        mapping = self.mapping
        for key, message in missing_columns(self.kind, mapping).items():
            self.add_error(f"column_{key}", message)
        if not self.errors:
            data["date_order"] = self._order(mapping, data.get("date_order", ""))
        data["measure"] = Measure(data["measure"]) if data.get("measure") else None
        return data

    def _order(self, mapping: dict[str, int], said: str) -> DateOrder | None:
        """What was said, or what every day of the file shows; a guess is never made."""
        if said:
            return DateOrder(said)
        if not any(key in mapping for key in DATE_COLUMNS):
            return None
        shown, is_open = orders_of(self.taken, mapping)
        if len(shown) > 1:
            self.add_error("date_order", _CONTRADICTORY)
        elif not shown and is_open:
            self.add_error("date_order", _BOTH_WAYS)
        return next(iter(shown)) if len(shown) == 1 else None


def _name(column: Column) -> str:
    return f"column_{column.key}"


def _theirs(taken: Import) -> list[tuple[str, str]]:
    """Each of their columns by its heading and what it holds first, so that one can compare."""
    rows = [row.cells or [] for row in taken.rows.order_by("number")[:_LOOKED_THROUGH]]
    choices = []
    for place, heading in enumerate(taken.headings):
        name = f"{heading} (column {place + 1})" if heading else f"Column {place + 1}"
        first = next((cells[place] for cells in rows if place < len(cells) and cells[place]), "")
        choices.append((str(place), f"{name}: {first[:30]}" if first else name))
    return choices


class UndoForm(forms.Form):
    reason = forms.CharField(
        label="Why it is undone",
        max_length=300,
        help_text="Stays in the audit trail.",
        error_messages={"required": "Say why it is undone."},
        widget=forms.TextInput(attrs={"autocomplete": "off", "dir": "auto"}),
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            "reason",
            HTML('<div class="form-actions"><button class="button button--danger" type="submit">'
                 "Undo this import</button></div>"),
        )  # fmt: skip
