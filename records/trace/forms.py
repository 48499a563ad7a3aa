from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Layout, Row, Submit
from django import forms

from clinic.stock.validators import validate_lot_number
from planning.gtin import GtinError, normalise_gtin


class TraceForm(forms.Form):
    """The lot to trace; the GTIN only where two products share its number."""

    lot = forms.CharField(
        label="Lot number",
        validators=[validate_lot_number],
        error_messages={"required": "Type the lot number as it is printed on the box."},
    )
    gtin = forms.CharField(
        label="GTIN", required=False, help_text="Only if two products share the lot."
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.disable_csrf = True
        self.helper.form_error_title = "Nothing traced yet: please look at the marked fields."
        self.helper.attrs = {"class": "form", "role": "search"}
        self.helper.layout = Layout(
            Row("lot", "gtin"), Div(Submit("", "Trace this lot"), css_class="form-actions")
        )

    def clean_gtin(self) -> str:
        typed = self.cleaned_data["gtin"]
        try:
            return normalise_gtin(typed) if typed else ""
        except GtinError as error:
            raise forms.ValidationError(str(error)) from error
