"""What the charting screen sends about a point. Everything the browser collects passes here."""

from django import forms

from clinic.stock.models import UnitOfStock
from planning.amounts import AmountError, parse_amount
from planning.atlas.regions import Region
from planning.vocabulary import (
    Aspiration,
    Instrument,
    Measure,
    Plane,
    Side,
    Technique,
    View,
)  # fmt: skip
from records.sessions.models import TreatmentSession
from records.sessions.services.points import PointDetails

# Common sizes as sold, from memory; they are offered and limit nobody: the form takes any size in
# the range below.
GAUGES = [18, 21, 22, 23, 25, 26, 27, 29, 30, 31, 32, 33, 34]
LENGTHS_MM = [4, 6, 8, 12, 13, 16, 20, 25, 30, 38, 40, 50, 60, 70, 80]
# Far outside any face; the atlas says what is on it.
FURTHEST_DMM = 3000


def _sizes(values: list[int], unit: str) -> list[tuple]:
    return [("", "–"), *((value, f"{value} {unit}") for value in values)]


def _choice(label: str, words, *, required: bool = True) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        required=required,
        choices=[("", "Choose …"), *words.choices()],
        error_messages={"required": f"Choose the {label.lower()}."},
    )


class SettingsForm(forms.Form):
    """How a point is given: the panel of current settings, and of the point being edited."""

    amount = forms.CharField(
        max_length=40,
        error_messages={"required": "Type the amount."},
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    plane = _choice("Plane", Plane)
    technique = _choice("Technique", Technique)
    instrument = _choice("Instrument", Instrument)
    gauge = forms.IntegerField(
        required=False, min_value=14, max_value=36,
        widget=forms.Select(choices=_sizes(GAUGES, "G")),
    )  # fmt: skip
    length_mm = forms.IntegerField(
        label="Length", required=False, min_value=2, max_value=120,
        widget=forms.Select(choices=_sizes(LENGTHS_MM, "mm")),
    )  # fmt: skip
    aspiration = _choice("Aspiration", Aspiration)
    unit = forms.ModelChoiceField(
        UnitOfStock.objects.none(),
        widget=forms.HiddenInput,
        error_messages={
            "required": "Open a unit first, or touch the one you draw from.",
            "invalid_choice": "That unit is not on the tray. Open it for this session first.",
        },
    )

    def __init__(self, *args, session: TreatmentSession, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit"].queryset = UnitOfStock.objects.with_lot().filter(trays__session=session)  # type: ignore[attr-defined]

    def clean(self) -> dict:
        data = super().clean() or {}
        unit, typed = data.get("unit"), data.get("amount")
        if unit and typed:
            try:
                data["amount"] = parse_amount(typed, Measure(unit.measure))
            except AmountError as error:
                self.add_error("amount", str(error))
        return data


class PointForm(SettingsForm):
    """A point as a whole: where it is, and how it is given."""

    view = forms.ChoiceField(choices=View.choices())
    x_dmm = forms.IntegerField(min_value=-FURTHEST_DMM, max_value=FURTHEST_DMM)
    y_dmm = forms.IntegerField(min_value=-FURTHEST_DMM, max_value=FURTHEST_DMM)
    region = forms.ChoiceField(required=False, choices=[("", ""), *Region.choices()])
    side = forms.ChoiceField(required=False, choices=[("", ""), *Side.choices()])
    deviation = forms.CharField(required=False, max_length=300)

    @property
    def details(self) -> PointDetails:
        data = self.cleaned_data
        return PointDetails(
            unit_id=data["unit"].pk,
            **{name: data[name] for name in PointDetails.__dataclass_fields__ if name in data},
        )


class NewPointForm(PointForm):
    """A point with the id made where it was tapped."""

    key = forms.UUIDField()
    tapped_at = forms.DateTimeField(input_formats=["%Y-%m-%dT%H:%M:%S.%f%z", "%Y-%m-%dT%H:%M:%S%z"])


class PlaceForm(forms.Form):
    """Where a point is moved to, on the view it is on."""

    x_dmm = forms.IntegerField(min_value=-FURTHEST_DMM, max_value=FURTHEST_DMM)
    y_dmm = forms.IntegerField(min_value=-FURTHEST_DMM, max_value=FURTHEST_DMM)


def sentence(form: forms.BaseForm) -> str:
    """All of a form's errors as one text for the page, each once."""
    parts: dict[str, None] = {}
    for name, errors in form.errors.items():
        field = form.fields.get(name)
        for error in map(str, errors):
            is_plain = field is not None and error.startswith("This field")
            parts[f"{(field and field.label) or name}: {error}" if is_plain else error] = None
    return " ".join(parts)
