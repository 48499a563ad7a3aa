"""What is asked of the dilution page."""

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout
from django import forms

from planning.amounts import AmountError, format_amount, parse_amount, plain_number
from planning.dilution import Vial, diluent_ul_for
from planning.vocabulary import Measure

MARKINGS_UL = [10, 20, 50, 100]
"""From one line of a syringe to the next, as commonly sold (from memory)."""


class AmountField(forms.CharField):
    """An amount as it is typed; its value is whole microlitres or hundredths of a unit."""

    def __init__(self, *, measure: Measure, **options) -> None:
        attrs = {"inputmode": "decimal", "autocomplete": "off"}
        super().__init__(max_length=40, widget=forms.TextInput(attrs=attrs), **options)
        self.measure = measure

    def clean(self, value):
        typed = super().clean(value)
        try:
            return parse_amount(typed, self.measure) if typed else None
        except AmountError as error:
            raise forms.ValidationError(str(error)) from error


class DilutionForm(forms.Form):
    """A vial, made up with a diluent or to a strength, and the doses to draw from it."""

    content = AmountField(
        label="In the vial", measure=Measure.DOSE,
        error_messages={"required": "Type the units in the vial, such as 100."},
    )  # fmt: skip
    diluent = AmountField(label="Made up with", measure=Measure.VOLUME, required=False)
    wanted = AmountField(
        label="Or wanted in 0.1 mL", measure=Measure.DOSE, required=False,
        help_text="Either this or the diluent.",
    )  # fmt: skip
    dose = AmountField(
        label="Dose to draw", measure=Measure.DOSE, required=False,
        help_text="Empty: a table of common doses alone.",
    )  # fmt: skip
    marking = forms.TypedChoiceField(
        label="A line on the syringe every",
        coerce=int,
        required=False,
        empty_value=None,
        initial=MARKINGS_UL[0],
        choices=[(ul, f"{plain_number(ul, Measure.VOLUME)} mL") for ul in MARKINGS_UL],
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_error_title = "Not reckoned yet: please look at the marked fields."
        self.helper.layout = Layout(
            AppendedText("content", "units"),
            AppendedText("diluent", "mL"),
            AppendedText("wanted", "units"),
            AppendedText("dose", "units"),
            Field("marking"),
            HTML(
                '<div class="form-actions"><button class="button button--primary" type="submit">'
                "Work it out</button></div>"
            ),
        )

    def clean_marking(self) -> int:
        """An address that names the vial alone, such as that of a unit's page, means the finest."""
        return self.cleaned_data["marking"] or MARKINGS_UL[0]

    def clean(self) -> dict:
        data = super().clean() or {}
        if self.errors:
            return data
        diluent, wanted = data.get("diluent"), data.get("wanted")
        if (diluent is None) == (wanted is None):
            self.add_error(
                "diluent", "Type the mL of diluent, or the units wanted in 0.1 mL: one of the two."
            )
        elif wanted is not None:
            exact = diluent_ul_for(data["content"], wanted)
            if exact.denominator != 1:
                about = format_amount(round(exact), Measure.VOLUME)
                self.add_error(
                    "wanted",
                    f"That takes about {about}, and no volume to the microlitre gives it exactly: "
                    "type another strength, or the diluent.",
                )
            data["diluent"] = int(exact)
        if not self.errors and data["dose"] and data["dose"] > data["content"]:
            self.add_error("dose", "The vial does not hold that much: take a second vial.")
        return data

    @property
    def vial(self) -> Vial:
        """Once it is valid."""
        return Vial(self.cleaned_data["content"], self.cleaned_data["diluent"])
