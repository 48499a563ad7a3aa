"""Input about what a patient had elsewhere."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Fieldset, Layout, Row
from django import forms
from django.utils import timezone
from django.utils.dates import MONTHS

from planning.amounts import AmountError, parse_amount
from planning.atlas.regions import Region
from planning.care import CareKind, FillerFamily, PartialDay
from planning.vocabulary import Measure
from records.elsewhere.models import ReportedCare
from records.elsewhere.validators import partial_day

_WIDE = "field--full"
_NUMBER = {"inputmode": "numeric", "autocomplete": "off"}


def _part(label: str, least: int, most: int) -> forms.IntegerField:
    words = f"Type a {label.lower()} from {least} to {most}, or leave it empty."
    return forms.IntegerField(
        label=label,
        required=False,
        min_value=least,
        max_value=most,
        widget=forms.TextInput(attrs=_NUMBER),
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), words),
    )


class ReportedCareForm(forms.ModelForm):
    """One thing the patient of the given instance had; the day in parts, for few know it whole."""

    kind = forms.ChoiceField(
        label="What it was",
        choices=CareKind.choices(),
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what it was."},
    )
    day_of_month = _part("Day", 1, 31)
    month = forms.TypedChoiceField(
        label="Month", required=False, coerce=int, empty_value=None,
        choices=[("", "Not known"), *MONTHS.items()],
    )  # fmt: skip
    year = _part("Year", 1900, 2999)
    region = forms.ChoiceField(
        required=False,
        choices=[("", "Not known, or not one region"), *Region.choices()],
        help_text="Of a filler or toxin.",
    )
    family = forms.ChoiceField(
        label="Made of",
        required=False,
        choices=FillerFamily.choices(),
        initial=FillerFamily.UNKNOWN,
        widget=forms.RadioSelect,
        help_text="Of a filler.",
    )
    units = forms.CharField(
        required=False,
        max_length=40,
        help_text="Of a toxin, such as 40. They are shown and never added to units given here.",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )

    class Meta:
        model = ReportedCare
        fields = ["kind", "region", "family", "note"]
        help_texts = {"note": "Who gave it, the product, what came of it."}
        widgets = {"note": forms.TextInput(attrs={"dir": "auto"})}

    def __init__(self, *args, back: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.back = back
        self.initial["family"] = FillerFamily.UNKNOWN
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Field("kind", wrapper_class=_WIDE),
            Fieldset(
                "When, as far as the patient knows",
                Row("day_of_month", "month", "year", css_class=_WIDE),
            ),
            Fieldset(
                "Only of filler or toxin",
                Field("region", wrapper_class=_WIDE),
                Field("family", wrapper_class=_WIDE),
                "units",
            ),
            Field("note", wrapper_class=_WIDE),
            HTML('{% include "elsewhere/_form_actions.html" %}'),
        )

    def clean_units(self) -> int | None:
        typed = self.cleaned_data["units"]
        try:
            return parse_amount(typed, Measure.DOSE) if typed else None
        except AmountError as error:
            raise forms.ValidationError(str(error)) from error

    def clean(self) -> dict:
        data = super().clean() or self.cleaned_data
        self._clean_kind(data)
        if not {"year", "month", "day_of_month"} & self.errors.keys():
            self._clean_day(data)
        self.instance.centiunits = data.get("units")
        return data

    def _clean_kind(self, data: dict) -> None:
        """What belongs to another kind is pointed out, not dropped in silence."""
        kind = data.get("kind")
        if kind != CareKind.FILLER:
            if data.get("family") not in ("", None, FillerFamily.UNKNOWN):
                self.add_error("family", "Only a filler is made of this: choose “Not known”.")
            data["family"] = ""
        elif not data.get("family"):
            data["family"] = FillerFamily.UNKNOWN
        if kind not in (CareKind.FILLER, CareKind.TOXIN) and data.get("region"):
            self.add_error("region", "Only a filler or toxin has a region: choose “Not known”.")
        if kind != CareKind.TOXIN and data.get("units"):
            self.add_error("units", "Only a toxin has units: leave it empty.")

    def _clean_day(self, data: dict) -> None:
        try:
            when = partial_day(data.get("year"), data.get("month"), data.get("day_of_month"))
        except forms.ValidationError as error:
            self.add_error("year" if not data.get("year") else "day_of_month", error)
            return
        self._refuse_impossible(when)
        self.instance.day, self.instance.precision = when.first, when.precision

    def _refuse_impossible(self, when: PartialDay) -> None:
        if when.first is None or when.last is None:
            return
        if when.first > timezone.localdate():
            self.add_error("year", "This is still to come. Record it once it has been.")
        elif when.last < self.instance.patient.birth_date:
            self.add_error("year", "The patient was not born by then.")


class WithdrawForm(forms.Form):
    reason = forms.CharField(
        label="Why it is withdrawn",
        max_length=300,
        error_messages={"required": "Say why it is withdrawn."},
    )

    def __init__(self, *args, back: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.back = back
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            "reason", HTML('{% include "elsewhere/_form_actions.html" with label="Withdraw" %}')
        )
