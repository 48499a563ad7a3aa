"""The form of a delivery: one line for each lot."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any, cast

from django import forms
from django.utils import timezone

from clinic.database.form_fields import DayField, name_what_is_required
from clinic.places.models import Place
from clinic.products.models import Product
from clinic.receiving.drafts import MOST_LINES, Delivery, settle_ticks
from clinic.receiving.services import DeliveryLine
from clinic.receiving.services.deliveries import cold_advice
from clinic.stock.models import Lot
from clinic.stock.validators import MOST_AT_ONCE, validate_expiry, validate_lot_number
from planning.lot_numbers import LotNumberError, check_serial_number, lookalikes

# The questions that a number must be readable for.
ABOUT_NUMBERS = ("is_compared", "is_another_lot")

Choices = list[tuple[str, str]]


@dataclass(frozen=True)
class Known:
    """What the lines of one form choose from and are compared with; read once for all of them."""

    products: dict[str, Product]
    places: dict[str, Place]
    lots: dict[str, dict[str, date]]
    today: date

    @classmethod
    def about(cls, delivery: Delivery) -> "Known":
        products = {str(one.pk): one for one in Product.objects.filter(is_active=True)}
        chosen = [products[pk] for line in delivery.lines if (pk := line["product"]) in products]
        lots: dict[str, dict[str, date]] = defaultdict(dict)
        known = Lot.objects.filter(product__in=chosen)
        for lot in known:
            lots[str(lot.product_id)][lot.number] = lot.expires_on
        places = {str(place.pk): place for place in Place.objects.in_use()}
        return cls(products, places, lots, timezone.localdate())

    @property
    def product_choices(self) -> Choices:
        products = ((pk, product.name) for pk, product in self.products.items())
        return [("", "Choose a product"), *products]

    @property
    def place_choices(self) -> Choices:
        """Without the site where there is one alone."""
        has_sites = len({place.site_id for place in self.places.values()}) > 1
        places = (
            (pk, str(place) if has_sites else place.name) for pk, place in self.places.items()
        )
        return [("", "Place not said"), *places]


def _among(things: dict[str, Any]) -> Callable[[str], Any]:
    """From the key that a choice has to the thing itself; ValueError where there is none."""

    def pick(key: str) -> Any:
        if key not in things:
            raise ValueError(key)
        return things[key]

    return pick


def _asked(label: str) -> forms.BooleanField:
    return forms.BooleanField(label=label, required=False)


class LineForm(forms.Form):
    """
    One lot. Three things are asked before it is received, each only where it arises: a number that
    resembles a known one, a number not seen before, and an expiry that has passed.
    """

    product = forms.TypedChoiceField(
        error_messages={"invalid_choice": "Choose a product that is in use."}
    )
    number = forms.CharField(
        label="Lot number",
        # No max_length: the browser would cut a longer number short and say nothing.
        validators=[validate_lot_number],
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}
        ),
    )
    expires_on = DayField(label="Expiry date", validators=[validate_expiry])
    quantity = forms.IntegerField(
        min_value=1,
        max_value=MOST_AT_ONCE,
        error_messages={
            "invalid": "Type a whole number.",
            "min_value": "Receive at least 1.",
            "max_value": f"Receive at most {MOST_AT_ONCE} in one line, the rest in another.",
        },
    )
    place = forms.TypedChoiceField(label="Put into", required=False, empty_value=None)
    serials = forms.CharField(
        label="Serial numbers",
        required=False,
        help_text="One a line, where the boxes have them.",
        widget=forms.Textarea(attrs={"rows": 3, "autocomplete": "off", "spellcheck": "false"}),
    )
    asked = forms.CharField(required=False, widget=forms.HiddenInput)
    is_compared = _asked("Compared with the box, sign by sign")
    is_another_lot = _asked("It is another lot: I compared it with the box")
    is_expired_on_arrival = _asked(
        "It arrived expired: take it into the books; no unit of it can be opened"
    )

    def __init__(self, *args, known: Known, **kwargs):
        super().__init__(*args, **kwargs)
        self.known = known
        self._offer("product", known.product_choices, known.products)
        self._offer("place", known.place_choices, known.places)
        name_what_is_required(self)
        self.questions = self._questions()

    def _offer(self, name: str, choices: Choices, things: dict[str, Any]) -> None:
        field = cast(forms.TypedChoiceField, self.fields[name])
        field.choices, field.coerce = choices, _among(things)

    def _typed(self, name: str) -> str:
        return str(self[name].value() or "").strip()

    @property
    def chosen_product(self) -> Product | None:
        return self.known.products.get(self._typed("product"))

    @property
    def cold_advice(self) -> str:
        product, place = self.chosen_product, self.known.places.get(self._typed("place"))
        return cold_advice(product, place) if product else ""

    @property
    def serial_count(self) -> int:
        return len(self._typed("serials").split())

    def _questions(self) -> dict[str, str]:
        """What is asked of this line, by the field of its answer."""
        asked = {}
        number, lots = self._typed("number"), self.known.lots.get(self._typed("product"), {})
        if self.chosen_product and number and number not in lots:
            if alike := lookalikes(number, sorted(lots)):
                shown = ", ".join(f"“{other}”" for other in alike)
                asked["is_another_lot"] = (
                    f"“{number}” resembles {shown} of the same product. Is it the same lot? Then "
                    "type it as it is known."
                )
            else:
                asked["is_compared"] = (
                    f"Lot “{number}” is new for this product: compare it with the box."
                )
        if (day := self._day()) and day < self.known.today:
            asked["is_expired_on_arrival"] = (
                f"The expiry {day:%d %b %Y} has passed. Is the date typed as printed?"
            )
        return asked

    @property
    def asked_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.questions]

    def _day(self) -> date | None:
        try:
            return self.fields["expires_on"].clean(self._typed("expires_on"))
        except forms.ValidationError:
            return None

    def clean_serials(self) -> list[str]:
        serials = self.cleaned_data["serials"].split()
        try:
            for serial in serials:
                check_serial_number(serial)
        except LotNumberError as error:
            raise forms.ValidationError(f"“{serial}”: {error}") from error
        twice = next((serial for serial in serials if serials.count(serial) > 1), "")
        if twice:
            raise forms.ValidationError(f"“{twice}” is there twice: was a box scanned twice?")
        return serials

    def clean(self):
        cleaned = super().clean()
        if "number" in cleaned and "product" in cleaned:
            self._check_known_expiry(cleaned)
        serials, quantity = cleaned.get("serials", []), cleaned.get("quantity")
        if quantity is not None and len(serials) > quantity:
            words = f"{len(serials)} serial numbers for {quantity} units: compare the boxes."
            self.add_error("quantity", words)
        for name, question in self.questions.items():
            is_readable = {"product", "number"} <= cleaned.keys() or name not in ABOUT_NUMBERS
            if is_readable and not cleaned.get(name):
                self.add_error(name, question)
        return cleaned

    def _check_known_expiry(self, cleaned: dict[str, Any]) -> None:
        product, day = cleaned["product"], cleaned.get("expires_on")
        stored = self.known.lots.get(str(product.pk), {}).get(cleaned["number"])
        if day and stored and stored != day:
            self.add_error(
                "expires_on",
                f"Lot {cleaned['number']} is known with the expiry {stored:%d %b %Y}, not "
                f"{day:%d %b %Y}. Compare with the box.",
            )

    @property
    def line(self) -> DeliveryLine:
        """What is to be received; the form is valid."""
        cleaned = self.cleaned_data
        product = cleaned["product"]
        serials = _one_a_pack(cleaned["serials"], cleaned["quantity"], product.units_per_pack)
        return DeliveryLine(
            product=product, number=cleaned["number"], expires_on=cleaned["expires_on"],
            quantity=cleaned["quantity"], place=cleaned["place"], serials=serials,
        )  # fmt: skip


def _one_a_pack(serials: Sequence[str], quantity: int, units_per_pack: int) -> list[str]:
    """A serial number is a pack's: it stands with the first of its units, if there is room."""
    if len(serials) * units_per_pack > quantity:
        return list(serials)
    gap = [""] * (units_per_pack - 1)
    return [one for serial in serials for one in (serial, *gap)]


LineForms = forms.formset_factory(
    LineForm, extra=0, max_num=MOST_LINES, absolute_max=MOST_LINES, min_num=1, validate_min=True
)


def line_forms(delivery: Delivery, *, is_meant: bool = False) -> forms.BaseFormSet:
    """
    The lines as forms.

    Args:
        is_meant: to be received now; else nothing is said of what is still missing.
    """
    settle_ticks(delivery.lines)
    build = partial(LineForms, prefix="line", form_kwargs={"known": Known.about(delivery)})
    if is_meant:
        return build(delivery.as_data())
    return build(initial=delivery.lines)


def units_in(lines: Iterable[forms.Form]) -> int:
    """How many units the lines hold, as far as they are numbers."""
    typed = (str(line["quantity"].value() or "").strip() for line in lines)
    return sum(int(text) for text in typed if text.isdecimal() and len(text) < 6)
