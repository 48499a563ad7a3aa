"""What is asked of the waste."""

from django import forms

from records.results.enums import WasteBy
from records.usage.forms import PeriodForm


class WasteForm(PeriodForm):
    """From when to when, of which product, and drawn for whom."""

    by = forms.ChoiceField(label="Draw by", required=False, choices=WasteBy.choices())

    field_order = ["by", "first", "last", "product"]

    @property
    def chosen(self) -> WasteBy:
        return WasteBy(self.cleaned_data["by"] or WasteBy.PRODUCT)
