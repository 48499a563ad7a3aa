"""Forms of the tray."""

from django import forms

from clinic.stock.models import UnitOfStock
from planning.amounts import AmountError, parse_amount
from planning.vocabulary import Measure
from records.sessions.queries.tray import asks_diluent, unit_by_label


class AmountField(forms.CharField):
    """Typed text to microlitres or centiunits; None for nothing typed."""

    def __init__(self, *, measure: Measure | None = None, **kwargs) -> None:
        self.measure = measure
        kwargs.setdefault("max_length", 40)
        super().__init__(
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}), **kwargs
        )

    def clean(self, value):
        text = super().clean(value)
        if not text or self.measure is None:
            return None
        try:
            return parse_amount(text, self.measure)
        except AmountError as error:
            raise forms.ValidationError(str(error)) from error


class OpenUnitForm(forms.Form):
    """
    Open a unit, by choosing it or by the label on it.

    `deviation` is the way to write down what was in fact used although it would be refused.
    """

    unit = forms.ModelChoiceField(
        UnitOfStock.objects.with_lot(), required=False, widget=forms.HiddenInput
    )
    label = forms.CharField(
        required=False, max_length=20, help_text="As on the sticker, such as U000012."
    )
    diluent = AmountField(
        measure=Measure.VOLUME, required=False,
        help_text="mL it was made up with. Leave empty if it is ready to use.",
    )  # fmt: skip
    no_diluent = forms.BooleanField(required=False, label="Ready to use, or not known")
    deviation = forms.CharField(
        label="It was used already, because",
        required=False,
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def clean(self) -> dict:
        data = super().clean() or {}
        typed = data.get("label")
        if not data.get("unit") and typed:
            data["unit"] = unit_by_label(typed)
            if data["unit"] is None:
                self.add_error("label", f"No unit of stock carries the label “{typed}”.")
        elif not data.get("unit") and not self.errors:
            self.add_error("unit", "Choose a unit, or type its label.")
        self._ask_diluent(data)
        return data

    def _ask_diluent(self, data: dict) -> None:
        """
        Whoever makes up a toxin says with how much, for 0.1 mL means nothing without it. Not
        knowing it can be said as well, and what was used already is written down as far as it goes.
        """
        unit = data.get("unit")
        if unit is None or "diluent" in self.errors or data.get("deviation"):
            return
        if asks_diluent(unit) and not data.get("diluent") and not data.get("no_diluent"):
            self.add_error(
                "diluent",
                f"Type the mL that unit {unit.label} was made up with: the units in 0.1 mL depend "
                "on it. If it is ready to use, or nobody knows, say so instead.",
            )


class WasteForm(forms.Form):
    """Waste from a unit on the tray while the session runs."""

    amount = AmountField()
    reason = forms.CharField(max_length=300)
    wasted_before = forms.IntegerField(required=False, min_value=0)

    def __init__(self, *args, measure: Measure, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"].measure = measure  # type: ignore[attr-defined]
        self.fields["amount"].error_messages["required"] = "Type the amount that was wasted."
        self.fields["reason"].error_messages["required"] = "Say why it was wasted."
