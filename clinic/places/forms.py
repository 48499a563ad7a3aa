"""The form of a place, with temperatures typed in °C."""

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Submit
from django import forms
from django.db.models import Q

from clinic.database.form_fields import TemperatureField, name_what_is_required
from clinic.places.enums import PlaceKind
from clinic.places.models import Place
from clinic.sites.models import Site
from planning.sources import FRIDGE_RANGE
from planning.temperatures import FRIDGE_HIGHEST, FRIDGE_LOWEST, format_temperature

_USUAL = f"{format_temperature(FRIDGE_LOWEST)} to {format_temperature(FRIDGE_HIGHEST)}"


class PlaceForm(forms.ModelForm):
    lowest_tenths = TemperatureField(label="Kept at no less than", required=False)
    highest_tenths = TemperatureField(
        label="Kept at no more than",
        required=False,
        help_text=f"Usual for a fridge: {_USUAL}. Source: {FRIDGE_RANGE}.",
    )

    class Meta:
        model = Place
        fields = ["site", "name", "kind", "lowest_tenths", "highest_tenths", "is_active"]
        labels = {"name": "Place", "is_active": "In use"}
        help_texts = {
            "name": "What people call it, such as “Fridge 1”.",
            "is_active": "A place that is no longer used stays in the books, but is not offered.",
        }
        widgets = {"kind": forms.RadioSelect}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.fields["kind"].choices = PlaceKind.choices()
        site = self.fields["site"]
        site.queryset = Site.objects.filter(Q(is_active=True) | Q(pk=self.instance.site_id))
        site.empty_label = "Choose"
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Fieldset("Where it is", "site", "name", "kind"),
            Fieldset(
                "How cold it is kept",
                AppendedText("lowest_tenths", "°C"),
                AppendedText("highest_tenths", "°C"),
            ),
            Field("is_active", wrapper_class="field--full"),
        )
        self.helper.add_input(Submit("save", "Save place"))

    def clean(self):
        cleaned = super().clean()
        lowest, highest = cleaned.get("lowest_tenths"), cleaned.get("highest_tenths")
        is_read = not self.errors.keys() & {"lowest_tenths", "highest_tenths"}
        if is_read and (lowest is None) != (highest is None):
            missing = "lowest_tenths" if lowest is None else "highest_tenths"
            self.add_error(missing, "Give both temperatures, or none.")
        elif lowest is not None and highest is not None and lowest >= highest:
            self.add_error("highest_tenths", "This is not above the lower one. Swap them?")
        elif is_read and lowest is None and cleaned.get("kind") == PlaceKind.FRIDGE:
            self.add_error(
                "lowest_tenths", "Say between which temperatures this fridge is kept: readings "
                "are held against them.",
            )  # fmt: skip
        return cleaned
