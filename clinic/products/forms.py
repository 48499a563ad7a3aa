"""The form of a product."""

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Submit
from django import forms
from django.utils import timezone

from clinic.database.form_fields import say_bounds
from clinic.products.models import Product
from planning.amounts import AmountError, parse_amount, plain_number
from planning.gtin import GtinError, normalise_gtin
from planning.lidocaine_strength import StrengthError, parse_strength, percent_text
from planning.money import PriceError, parse_price, plain_price
from planning.scan import LONGEST, read_scan
from planning.temperatures import TemperatureError, parse_temperature, plain_temperature
from planning.vocabulary import ProductKind


class ProductForm(forms.ModelForm):
    """
    A product; content is typed in mL or units by its kind, lidocaine in % or mg/mL, temperatures in
    degrees Celsius. A scanned code gives its GTIN.
    """

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
        max_length=LONGEST,
        help_text="The digits under the bar code, or the whole code as a scanner gives it.",
    )
    price = forms.CharField(
        label="Price of one syringe or vial",
        required=False,
        help_text="What the patient pays for the whole of it, such as 180. Empty: no quote can "
        "name it.",
    )
    keep_lowest = forms.CharField(
        label="Kept at no less than",
        required=False,
        help_text="As on the pack, such as 2. Empty if it may lie in a cupboard.",
    )
    keep_highest = forms.CharField(label="Kept at no more than", required=False)

    class Meta:
        model = Product
        fields = [
            "name", "maker", "line", "kind", "content", "gtin", "units_per_pack", "supplier",
            "lead_time_days", "price", "is_single_patient", "hours_after_opening",
            "typical_duration_months", "is_active",
        ]  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.initial["content"] = plain_number(self.instance.content, self.instance.measure)
            self.initial["lidocaine"] = percent_text(self.instance.lidocaine_ug_per_ml)
            price = self.instance.price
            self.initial["price"] = "" if price is None else plain_price(price)
            self.initial["keep_lowest"] = _degrees(self.instance.keep_lowest_tenths)
            self.initial["keep_highest"] = _degrees(self.instance.keep_highest_tenths)
        self.fields["kind"].choices = [("", "Choose"), *ProductKind.choices()]
        say_bounds(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = _layout()
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
        gtin = _gtin(typed)
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

    def clean_price(self):
        typed = self.cleaned_data["price"]
        try:
            return parse_price(typed) if typed else None
        except PriceError as error:
            raise forms.ValidationError(str(error)) from error

    def clean_keep_lowest(self):
        return _tenths(self.cleaned_data["keep_lowest"])

    def clean_keep_highest(self):
        return _tenths(self.cleaned_data["keep_highest"])

    def clean(self):
        cleaned = super().clean()
        if {"keep_lowest", "keep_highest"} <= cleaned.keys():
            self._check_temperatures(cleaned["keep_lowest"], cleaned["keep_highest"])
        kind, strength = cleaned.get("kind"), cleaned.get("lidocaine")
        if strength and kind in {ProductKind.TOXIN, ProductKind.HYALURONIDASE}:
            self.add_error("lidocaine", "A product counted in units holds no lidocaine by volume.")
        return cleaned

    def _check_temperatures(self, lowest: int | None, highest: int | None) -> None:
        if (lowest is None) != (highest is None):
            empty = "keep_lowest" if lowest is None else "keep_highest"
            self.add_error(empty, "Give both temperatures as they are on the pack, or none.")
        elif lowest is not None and highest is not None and lowest >= highest:
            self.add_error("keep_highest", "This must be above the lower temperature.")

    def _post_clean(self):
        cleaned = self.cleaned_data
        if "lidocaine" in cleaned:
            self.instance.lidocaine_ug_per_ml = cleaned["lidocaine"]
        if {"keep_lowest", "keep_highest"} <= cleaned.keys():
            self.instance.keep_lowest_tenths = cleaned["keep_lowest"]
            self.instance.keep_highest_tenths = cleaned["keep_highest"]
        super()._post_clean()


def _layout() -> Layout:
    full = "field--full"
    return Layout(
        Fieldset("What it is", "name", "maker", "line", "kind", "gtin"),
        Fieldset(
            "What a unit and a pack hold",
            "content",
            AppendedText("units_per_pack", "units"),
            "lidocaine",
        ),
        Fieldset(
            "How it is ordered and kept",
            "supplier",
            AppendedText("lead_time_days", "days"),
            "price",
            AppendedText("keep_lowest", "°C"),
            AppendedText("keep_highest", "°C"),
        ),
        Fieldset(
            "How it is used",
            "hours_after_opening",
            "typical_duration_months",
            Field("is_single_patient", wrapper_class=full),
            Field("is_active", wrapper_class=full),
        ),
    )


def _gtin(typed: str) -> str:
    """The fourteen digits, typed or out of a whole code."""
    try:
        return normalise_gtin(typed)
    except GtinError as error:
        scan = read_scan(typed, today=timezone.localdate())
        if scan.gtin:
            return scan.gtin
        if not scan.error:
            words = "This code names no product: scan the one that begins with (01)."
        else:
            is_code = not typed.replace(" ", "").replace("-", "").isalnum() or len(typed) > 20
            words = scan.error if is_code else str(error)
        raise forms.ValidationError(words) from error


def _tenths(typed: str) -> int | None:
    try:
        return parse_temperature(typed) if typed else None
    except TemperatureError as error:
        raise forms.ValidationError(str(error)) from error


def _degrees(tenths: int | None) -> str:
    return "" if tenths is None else plain_temperature(tenths)
