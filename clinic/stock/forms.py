"""Forms of the stock: products, receiving, reasons and the list's filter."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Fieldset, Layout, Row, Submit
from django import forms
from django.utils import timezone

from clinic.database.form_fields import DayField, say_bounds
from clinic.stock.enums import MovementKind, StockFilter
from clinic.stock.models import Product
from clinic.stock.queries import lookalike_numbers
from clinic.stock.validators import MOST_AT_ONCE, validate_expiry, validate_lot_number
from planning.amounts import AmountError, parse_amount, plain_number
from planning.gtin import GtinError, normalise_gtin
from planning.lidocaine_strength import StrengthError, parse_strength, percent_text
from planning.vocabulary import ProductKind


class ProductForm(forms.ModelForm):
    """A product; content is typed in mL or units by its kind, lidocaine in % or mg/mL."""

    content = forms.CharField(
        label="Content of one unit",
        help_text="mL in a syringe or ampoule; units in a vial of toxin or hyaluronidase.",
    )
    lidocaine = forms.CharField(
        required=False,
        help_text="As on the pack, in % or in mg/mL: 0.3 % is 3 mg/mL. Empty if there is none.",
    )
    gtin = forms.CharField(
        label="GTIN",
        required=False,
        max_length=40,
        help_text="The digits under the bar code; blanks and hyphens do not matter.",
    )

    class Meta:
        model = Product
        fields = [
            "name", "maker", "kind", "content", "gtin", "is_single_patient",
            "hours_after_opening", "typical_duration_months", "is_active",
        ]  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.initial["content"] = plain_number(self.instance.content, self.instance.measure)
            self.initial["lidocaine"] = percent_text(self.instance.lidocaine_ug_per_ml)
        self.fields["kind"].choices = [("", "Choose"), *ProductKind.choices()]
        say_bounds(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Fieldset("What it is", "name", "maker", "kind", "gtin"),
            Fieldset("What one unit holds", "content", "lidocaine"),
            Fieldset(
                "How it is used",
                "hours_after_opening",
                "typical_duration_months",
                Field("is_single_patient", wrapper_class="field--full"),
                Field("is_active", wrapper_class="field--full"),
            ),
        )
        self.helper.add_input(Submit("save", "Save product"))

    def clean_name(self):
        name = self.cleaned_data["name"]
        if other := self._another(name=name):
            raise forms.ValidationError(
                f"Another product has this name, by {other.maker}. Add what tells them apart."
            )
        return name

    def clean_gtin(self):
        typed = self.cleaned_data["gtin"]
        if not typed:
            return None
        try:
            gtin = normalise_gtin(typed)
        except GtinError as error:
            raise forms.ValidationError(str(error)) from error
        if other := self._another(gtin=gtin):
            raise forms.ValidationError(f"Another product has this GTIN: {other}.")
        return gtin

    def _another(self, **fields) -> Product | None:
        return Product.objects.filter(**fields).exclude(pk=self.instance.pk).first()

    def clean_content(self):
        kind = self.cleaned_data.get("kind")
        if not kind:
            raise forms.ValidationError("Choose the kind first: it decides between mL and units.")
        try:
            return parse_amount(self.cleaned_data["content"], ProductKind(kind).measure)
        except AmountError as error:
            raise forms.ValidationError(str(error)) from error

    def clean_lidocaine(self):
        try:
            return parse_strength(self.cleaned_data["lidocaine"])
        except StrengthError as error:
            raise forms.ValidationError(str(error)) from error

    def clean(self):
        cleaned = super().clean()
        kind, strength = cleaned.get("kind"), cleaned.get("lidocaine")
        if strength and kind in {ProductKind.TOXIN, ProductKind.HYALURONIDASE}:
            self.add_error("lidocaine", "A product counted in units holds no lidocaine by volume.")
        return cleaned

    def _post_clean(self):
        if "lidocaine" in self.cleaned_data:
            self.instance.lidocaine_ug_per_ml = self.cleaned_data["lidocaine"]
        super()._post_clean()


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


class ReasonForm(forms.Form):
    reason = forms.CharField(
        max_length=300, widget=forms.Textarea(attrs={"rows": 3, "maxlength": 300})
    )


class TakeOutForm(ReasonForm):
    """Why a unit leaves the stock unopened, and where to."""

    kind = forms.ChoiceField(
        label="Where does it go?",
        choices=[
            (kind.value, kind.label) for kind in (MovementKind.RETURNED, MovementKind.WRITTEN_OFF)
        ],
        widget=forms.RadioSelect,
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
