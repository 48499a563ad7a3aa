"""The form by which a lot, or a range of lots or serial numbers, is stopped."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout, Row
from django import forms

from clinic.products.models import Product
from clinic.quarantine.models import Quarantine
from clinic.quarantine.validators import validate_serial_number
from clinic.stock.validators import validate_lot_number
from planning.code_ranges import RangeError, check_range


def _number(label: str, validator, help_text: str = "") -> forms.CharField:
    # No max_length: the browser would cut a longer number short and say nothing.
    return forms.CharField(
        label=label, required=False, validators=[validator], help_text=help_text,
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}
        ),
    )  # fmt: skip


class QuarantineForm(forms.Form):
    """
    What to stop. It is sent twice: the first time it shows what it reaches; the second time the
    button pressed names in `shown` the values it was shown for.
    """

    product = forms.ModelChoiceField(
        Product.objects.all(),
        empty_label="Choose a product",
        error_messages={"required": "Choose the product, or scan a box of it."},
    )
    lot_first = _number(
        "Lot number",
        validate_lot_number,
        "As printed after LOT. Empty: every lot of the product.",
    )
    lot_last = _number("To lot", validate_lot_number, "For a range only: the last lot it names.")
    serial_first = _number(
        "Serial number", validate_serial_number, "Only if the notice names serial numbers."
    )
    serial_last = _number(
        "To serial number", validate_serial_number, "For a range only: the last one it names."
    )
    reason = forms.CharField(
        label="Why",
        max_length=300,
        help_text="Shown to whoever wants to open a unit. The notice's number helps.",
        error_messages={
            "required": "Say why: the reason is shown to whoever wants to open a unit."
        },
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    shown = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.layout = Layout(
            "product",
            Row("lot_first", "lot_last"),
            Row("serial_first", "serial_last"),
            "reason",
        )

    def clean(self):
        cleaned = super().clean()
        for name in ("lot", "serial"):
            self._complete_range(f"{name}_first", f"{name}_last")
        return cleaned

    def _complete_range(self, first: str, last: str) -> None:
        """A single number is a range of one."""
        cleaned = self.cleaned_data
        if first not in cleaned or last not in cleaned:
            return
        if cleaned[last] and not cleaned[first]:
            self.add_error(first, "Type the first number of the range as well.")
            return
        cleaned[last] = cleaned[last] or cleaned[first]
        if cleaned[first] != cleaned[last]:
            try:
                check_range(cleaned[first], cleaned[last])
            except RangeError as error:
                self.add_error(last, str(error))

    @property
    def quarantine(self) -> Quarantine:
        """What was typed, unsaved."""
        names = ("product", "lot_first", "lot_last", "serial_first", "serial_last", "reason")
        return Quarantine(**{name: self.cleaned_data[name] for name in names})

    @property
    def span(self) -> str:
        """What it reaches by, as one text: the same values give the same text."""
        cleaned = self.cleaned_data
        names = ("lot_first", "lot_last", "serial_first", "serial_last")
        return "|".join([str(cleaned["product"].pk), *(cleaned[name] for name in names)])

    @property
    def is_confirmed(self) -> bool:
        """Whether the person has seen what these very values reach."""
        return self.cleaned_data["shown"] == self.span

    @property
    def is_changed(self) -> bool:
        """Whether something was changed after it was shown."""
        return bool(self.cleaned_data["shown"]) and not self.is_confirmed
