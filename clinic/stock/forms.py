"""Forms of the stock: reasons and the list's filter."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Layout
from django import forms

from clinic.stock.enums import MovementKind, StockFilter


class ReasonForm(forms.Form):
    reason = forms.CharField(
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3, "maxlength": 300}),
        error_messages={"required": "Say why, in a few words: blanks alone are no reason."},
    )


class TakeOutForm(ReasonForm):
    """Why a unit leaves the stock unopened, and where to."""

    kind = forms.ChoiceField(
        label="Where does it go?",
        choices=[
            (kind.value, kind.label) for kind in (MovementKind.RETURNED, MovementKind.WRITTEN_OFF)
        ],
        widget=forms.RadioSelect,
        error_messages={"required": "Say where it goes."},
    )
    field_order = ["kind", "reason"]


class StockFilterForm(forms.Form):
    q = forms.CharField(
        label="Product or lot number",
        required=False,
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    show = forms.ChoiceField(label="Show", required=False, choices=StockFilter.choices())

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_error_title = "Not narrowed down by the marked fields: correct them."
        self.helper.attrs = {"class": "form form--inline", "role": "search"}
        self.helper.layout = Layout(
            "q", "show", HTML('<button class="button" type="submit">Show</button>')
        )

    @property
    def chosen(self) -> tuple[str, StockFilter]:
        """What to look for and which lots; a value nobody offered counts as not given."""
        self.is_valid()
        text = self.cleaned_data.get("q") or ""
        return text, StockFilter(self.cleaned_data.get("show") or StockFilter.IN_HOUSE)
