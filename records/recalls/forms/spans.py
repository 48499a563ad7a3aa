"""What the notice names, a row for each product and its lots or serial numbers."""

from django import forms

from clinic.products.models import Product
from clinic.quarantine.validators import validate_serial_number
from clinic.stock.models import Lot
from clinic.stock.validators import validate_lot_number
from planning.code_ranges import RangeError, check_range
from records.recalls.models import CaseSpan
from records.trace.queries.lots import lots_like, lots_numbered

MOST_ROWS = 50
AS_PRINTED = {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}


def _product_words(product: Product) -> str:
    return f"{product.name} · {product.maker} · GTIN {product.gtin or 'not recorded'}"


class ProductField(forms.ModelChoiceField):
    def label_from_instance(self, obj: Product) -> str:
        return _product_words(obj)


class LotsField(forms.ModelMultipleChoiceField):
    def label_from_instance(self, obj: Lot) -> str:
        return f"{_product_words(obj.product)} · expiry {obj.expires_on:%-d %b %Y}"


def _number(label: str, validator) -> forms.CharField:
    # No max_length: the browser would cut a longer number short and say nothing.
    return forms.CharField(
        label=label,
        required=False,
        validators=[validator],
        widget=forms.TextInput(attrs=AS_PRINTED),
    )


class SpanForm(forms.Form):
    """
    One product's lots from one to another, or serial numbers among them.

    Without a product the lot number finds it, and a person says which is meant: a number that two
    makers share is never taken for one lot, and a single hit may be the other maker's.
    """

    product = ProductField(
        Product.objects.order_by("name"), required=False, empty_label="Find it by the lot number"
    )
    lot_first = _number("Lot", validate_lot_number)
    lot_last = _number("to lot", validate_lot_number)
    every_lot = forms.BooleanField(label="Every lot of this product", required=False)
    serial_first = _number("Serial number", validate_serial_number)
    serial_last = _number("to serial number", validate_serial_number)
    meant = LotsField(
        Lot.objects.none(),
        required=False,
        label="Which of these does the notice mean?",
        help_text="Compare maker and GTIN with the notice. Tick several only if it names them all.",
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.candidates: list[Lot] = []
        if self.is_bound and not self.data.get(self.add_prefix("product")):
            number = (self.data.get(self.add_prefix("lot_first")) or "").strip()
            self.candidates = list(lots_numbered(number)) if number else []
        self.fields["meant"].queryset = Lot.objects.filter(  # type: ignore[attr-defined]
            pk__in=[lot.pk for lot in self.candidates]
        ).select_related("product")

    def clean(self) -> dict:
        cleaned = super().clean() or {}
        if self.has_changed() and not self.errors:
            self._clean_range("lot", cleaned)
            self._clean_range("serial", cleaned)
            # A field with an error is no longer among the cleaned ones.
            if not self.errors:
                self._clean_lots(cleaned)
        return cleaned

    def _clean_lots(self, cleaned: dict) -> None:
        lot, product = cleaned["lot_first"], cleaned["product"]
        if lot and cleaned["every_lot"]:
            self.add_error("every_lot", "Type the lot, or tick every lot, not both.")
        elif not lot and product and not (cleaned["every_lot"] or cleaned["serial_first"]):
            self.add_error("lot_first", "Type the lot as the notice prints it, or tick every lot.")
        elif not product and (cleaned["every_lot"] or not lot or cleaned["lot_last"]):
            self.add_error("product", "Choose the product: only a single lot is found by itself.")
        elif not product and not self.candidates:
            self.add_error("product", _unknown(lot))
        elif not product and not cleaned["meant"]:
            self.add_error("meant", "Tick what the notice means.")

    def _clean_range(self, name: str, cleaned: dict) -> None:
        first, last = cleaned.get(f"{name}_first", ""), cleaned.get(f"{name}_last", "")
        if last and not first:
            self.add_error(f"{name}_first", "Type the first number too.")
        elif last and last != first:
            try:
                check_range(first, last)
            except RangeError as error:
                self.add_error(f"{name}_last", str(error))

    @property
    def spans(self) -> list[CaseSpan]:
        """What the row names; nothing if it was left empty."""
        data = self.cleaned_data
        if not self.has_changed():
            return []
        products = [data["product"]] if data["product"] else [lot.product for lot in data["meant"]]
        names = ("lot_first", "lot_last", "serial_first", "serial_last")
        return [CaseSpan(product=each, **{name: data[name] for name in names}) for each in products]


def _unknown(number: str) -> str:
    words = (
        f"No product here has a lot {number}. Choose the product that the notice names: "
        "the case may name a lot that was never received."
    )
    if alike := sorted({lot.number for lot in lots_like(number)}):
        return f"{words} Easily taken for it: {', '.join(alike)}."
    return words


class SpanRows(
    forms.formset_factory(  # type: ignore[misc]
        SpanForm, extra=0, min_num=1, max_num=MOST_ROWS, absolute_max=MOST_ROWS, validate_max=True
    )
):
    """The rows of the form that opens a case; empty ones count for nothing, one is needed."""

    def clean(self) -> None:
        if not any(self.errors) and not self.spans:
            raise forms.ValidationError("Say which product and which lots the notice names.")

    @property
    def spans(self) -> list[CaseSpan]:
        return [span for row in self.forms for span in row.spans]


class AddSpanForm(SpanForm):
    """One more row, for a case that is open."""

    def clean(self) -> dict:
        cleaned = super().clean()
        if not self.errors and not self.has_changed():
            self.add_error("lot_first", "Type the lot that is to be added.")
        return cleaned
