"""Forms of the temperature log."""

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout, Row, Submit
from django import forms
from django.urls import reverse

from clinic.database.form_fields import TemperatureField, name_what_is_required
from clinic.places.models import Place


class ReadingForm(forms.Form):
    """One look at the thermometer; `done` is asked for when a temperature is out of range."""

    temperature = TemperatureField(label="Temperature now")
    coldest = TemperatureField(
        label="Lowest since the last", required=False, help_text="From its memory, if it has one."
    )
    warmest = TemperatureField(label="Highest since the last", required=False)
    done = forms.CharField(
        label="What was done",
        required=False,
        max_length=300,
        help_text="Such as: door closed, products set apart, maker asked.",
    )
    note = forms.CharField(required=False, max_length=300)
    read_at = forms.DateTimeField(
        label="Read at, if not now",
        required=False,
        help_text="For what was written on paper first.",
        widget=forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"}),
    )

    def __init__(self, *args, place: Place, **kwargs):
        super().__init__(*args, **kwargs)
        self.place = place
        name_what_is_required(self)

    @property
    def helper(self):
        """The layout, with the question that a temperature out of range raised."""
        helper = FormHelper()
        helper.attrs = {"data-once": ""}
        helper.form_action = reverse("fridge-log", args=[self.place.pk])
        asked = "done" in self.errors or (self.is_bound and self.data.get("done"))
        helper.layout = Layout(
            Row(*(AppendedText(name, "°C") for name in ("temperature", "coldest", "warmest"))),
            *([Field("done")] if asked else []),
            Row("note", "read_at"),
        )
        helper.add_input(Submit("save", "Log this reading"))
        return helper


class DecisionForm(forms.Form):
    decision = forms.CharField(
        label="What was decided about the products",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 4, "maxlength": 1000}),
        help_text="For each of them: used, set apart or destroyed, and on whose advice. "
        "It stays as it is written.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
