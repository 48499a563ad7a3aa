"""The form of a delivery."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Row, Submit
from django import forms
from django.utils import timezone

from clinic.database.form_fields import DayField
from clinic.places.models import Place
from clinic.products.models import Product
from clinic.stock.queries import lookalike_numbers
from clinic.stock.validators import MOST_AT_ONCE, validate_expiry, validate_lot_number


class ReceiveForm(forms.Form):
    """
    A delivery. Two things are asked before it is saved, and only when they arise: a lot number that
    resembles a known one, and an expiry date that has passed.
    """

    product = forms.ModelChoiceField(
        Product.objects.filter(is_active=True), empty_label="Choose a product"
    )
    number = forms.CharField(
        label="Lot number",
        # No max_length: the browser would cut a longer number short and say nothing.
        validators=[validate_lot_number],
        help_text="Exactly as printed after LOT: capitals, zeros and signs count.",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}
        ),
    )
    expires_on = DayField(
        label="Expiry date",
        help_text="Usable through this day. Only a month is printed: its last day.",
        validators=[validate_expiry],
    )
    quantity = forms.IntegerField(
        min_value=1,
        max_value=MOST_AT_ONCE,
        help_text="Syringes or vials, not boxes.",
        error_messages={
            "invalid": "Type a whole number.",
            "min_value": "Receive at least 1.",
            "max_value": f"Receive at most {MOST_AT_ONCE} at once, the rest as another delivery.",
        },
    )
    place = forms.ModelChoiceField(
        Place.objects.in_use(), required=False, empty_label="Not said", label="Put into"
    )
    asked_number = forms.CharField(required=False, widget=forms.HiddenInput)
    is_another_lot = forms.BooleanField(
        label="It is another lot: I compared it with the box", required=False
    )
    is_expired_on_arrival = forms.BooleanField(
        label="It arrived expired: take it into the books; no unit of it can be opened",
        required=False,
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.questions = []

    @property
    def helper(self):
        """The layout, with the questions that this entry raised."""
        helper = FormHelper()
        helper.attrs = {"data-once": ""}
        questions = [Field(name, wrapper_class="field--full") for name in self.questions]
        helper.layout = Layout(
            Field("product"),
            Row("number", "expires_on", "quantity"),
            "place",
            "asked_number",
            *([Fieldset("Before it is saved", *questions)] if questions else []),
        )
        helper.add_input(Submit("save", "Receive into stock"))
        return helper

    def clean(self):
        cleaned = super().clean()
        product, number = cleaned.get("product"), cleaned.get("number")
        if product and number:
            self._ask_about_lookalikes(product, number)
        expires_on = cleaned.get("expires_on")
        if expires_on and expires_on < timezone.localdate():
            self._ask(
                "is_expired_on_arrival",
                f"The expiry {expires_on:%d %b %Y} has passed. Is the date typed as printed?",
                answered=cleaned.get("is_expired_on_arrival"),
            )
        return cleaned

    def _ask_about_lookalikes(self, product, number):
        known = lookalike_numbers(product, number)
        if not known:
            return
        # The answer holds for the number it was given about, not for one typed afterwards.
        about_this = self.cleaned_data.get("asked_number") == number
        shown = ", ".join(f"“{other}”" for other in known)
        self._ask(
            "is_another_lot",
            f"“{number}” resembles {shown} of the same product. Is it the same lot? "
            "Then type it as it is known.",
            answered=about_this and self.cleaned_data.get("is_another_lot"),
        )
        self.data = self.data.copy()
        self.data["asked_number"] = number
        if not about_this:
            self.data.pop("is_another_lot", None)

    def _ask(self, field: str, question: str, *, answered) -> None:
        self.questions.append(field)
        if not answered:
            self.add_error(field, question)
