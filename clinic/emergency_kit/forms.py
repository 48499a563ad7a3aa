"""The form of an item of the kit. Its minimum is typed in units or in pieces."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout, Row, Submit
from django import forms
from django.db.models import Q

from clinic.database.form_fields import DayField, name_what_is_required
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.emergency_kit.models import EmergencyItem
from clinic.products.models import Product
from clinic.sites.models import Site
from planning.amounts import AmountError, parse_amount, plain_number
from planning.sources import HYALURONIDASE_STRENGTH
from planning.vocabulary import Measure, ProductKind

MOST_PIECES = 10_000


class EmergencyItemForm(SeenValuesForm):
    minimum = forms.CharField(
        label="At least",
        required=False,
        max_length=20,
        help_text="Units of hyaluronidase, unopened pieces of anything else. The clinic decides. "
        f"One guide to how strong it is made up: {HYALURONIDASE_STRENGTH}.",
    )

    class Meta:
        model = EmergencyItem
        fields = [
            "name", "site", "product_kind", "product", "minimum", "expires_on", "source",
            "is_active",
        ]  # fmt: skip
        field_classes = {"expires_on": DayField}
        labels = {
            "name": "Item",
            "product_kind": "Counted by kind of product",
            "product": "Or by one product",
            "expires_on": "Expires on",
            "source": "Who asks for it",
            "is_active": "In use",
        }
        help_texts = {
            "name": "What people call it, such as “Hyaluronidase” or “Oxygen”.",
            "product_kind": "What is in the stock: unopened, in date and in no quarantine.",
            "product": "Where only that one will do.",
            "expires_on": "Only of what is in no stock book. Empty: it is looked at each time.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        item = self.instance
        if item.pk and item.minimum is not None:
            in_units = item.is_in_units
            self.initial["minimum"] = (
                plain_number(item.minimum, Measure.DOSE) if in_units else str(item.minimum)
            )
        name_what_is_required(self)
        self.fields["site"].queryset = Site.objects.filter(Q(is_active=True) | Q(pk=item.site_id))
        self.fields["site"].empty_label = "Every site"
        self.fields["product_kind"].choices = [("", "By none"), *ProductKind.choices()]
        self.fields["product"].queryset = Product.objects.filter(
            Q(is_active=True) | Q(pk=item.product_id)
        )
        self.fields["product"].empty_label = "No product alone"
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            SEEN, "name", "site", Row("product_kind", "product"), Row("minimum", "expires_on"),
            "source", Field("is_active"),
        )  # fmt: skip
        self.helper.add_input(Submit("save", "Save item"))

    def clean_minimum(self) -> str:
        return self.cleaned_data["minimum"].strip()

    def clean(self) -> dict:
        typed = super().clean() or {}
        kind, product = typed.get("product_kind"), typed.get("product")
        if kind and product:
            self.add_error("product", "Count it by kind or by product, not by both.")
            return typed
        word = product.kind if product else kind
        if word:
            self._clean_counted(typed, ProductKind(word))
        else:
            self._clean_looked_at(typed)
        return typed

    def _clean_looked_at(self, typed: dict) -> None:
        if typed.get("minimum"):
            self.add_error(
                "minimum", "Only what is in the stock is counted: choose its kind or its product."
            )
        typed["minimum"] = None

    def _clean_counted(self, typed: dict, kind: ProductKind) -> None:
        if typed.get("expires_on"):
            self.add_error("expires_on", "The stock knows when its lots expire: leave this empty.")
        if not typed.get("minimum"):
            self.add_error("minimum", "Say how much is kept at least.")
            return
        try:
            typed["minimum"] = _least(typed["minimum"], kind)
        except AmountError as error:
            self.add_error("minimum", str(error))


def _least(text: str, kind: ProductKind) -> int:
    """In hundredths of a unit, or in pieces. Raises AmountError with a sentence."""
    if kind.measure is Measure.DOSE:
        return parse_amount(text, Measure.DOSE)
    if not (text.isascii() and text.isdecimal() and 0 < int(text) <= MOST_PIECES):
        raise AmountError(f"Type a whole number of pieces from 1 to {MOST_PIECES:,}.")
    return int(text)
