from itertools import chain
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Div, Layout, Row, Submit
from django import forms
from django.db.models import Exists, OuterRef
from django.utils import timezone

from clinic.database.form_fields import DayField
from clinic.products.models import Product
from clinic.staff.models import User
from clinic.stock.models import Lot
from clinic.stock.validators import validate_lot_number
from planning.gtin import GtinError, normalise_gtin
from planning.lot_numbers import LONGEST, LotNumberError, check_lot_number
from planning.scan import Scan, read_scan
from records.sessions.models import TreatmentSession
from records.trace.queries.search import LotSearch

# Where no lot is named, the points of all sessions of these days are looked at.
MOST_DAYS = 731
ON_THE_BOX = ("lot", "gtin")
BEYOND = (
    ("product", "maker", "injector"),
    ("expires_from", "expires_to", "treated_from", "treated_to"),
)
AT_MOST = "Without a lot number, two years are looked through at a time."
NOTHING_TYPED = (
    "Type the lot number as it is printed on the box. If you do not have it, say what you know of "
    "the lot."
)


def scanned(text: str) -> Scan | None:
    """
    What a code says that came into the field of the lot number, product number and all; None for
    what a lot number can be. A lot on record goes before any reading.
    """
    try:
        if Lot.objects.filter(number=check_lot_number(text.strip())).exists():
            return None
    except LotNumberError:
        pass  # on no record: PostgreSQL would not even look for some signs
    scan = read_scan(text, today=timezone.localdate())
    return scan if scan.gtin or len(text.strip()) > LONGEST else None


class TraceForm(forms.Form):
    """
    What is known of the lot to trace: its number, or whatever else is.

    A code scanned into the field of the number fills in lot and GTIN.
    """

    lot = forms.CharField(
        label="Lot number",
        required=False,
        help_text="Typed, or the code on the box scanned into this field.",
        validators=[validate_lot_number],
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    gtin = forms.CharField(
        label="GTIN", required=False, help_text="If two products share the lot, or by itself."
    )
    product = forms.ModelChoiceField(
        Product.objects.order_by("name"), required=False, empty_label="Any product"
    )
    maker = forms.ChoiceField(required=False)
    expires_from = DayField(label="Expires from", required=False)
    expires_to = DayField(label="Expires up to", required=False)
    injector = forms.ModelChoiceField(
        User.objects.filter(Exists(TreatmentSession.objects.filter(injector=OuterRef("pk")))),
        label="Treated by",
        required=False,
        empty_label="Anybody",
    )
    treated_from = DayField(label="Treated from", required=False)
    treated_to = DayField(label="Treated up to", required=False)

    def __init__(self, data=None, *args, **kwargs):
        self.scan = scanned(data.get("lot", "")) if data else None
        if self.scan and self.scan.gtin:
            data = data.copy()
            data["lot"], data["gtin"] = self.scan.lot, self.scan.gtin
        super().__init__(data, *args, **kwargs)
        makers = Product.objects.order_by("maker").values_list("maker", "maker").distinct()
        self.fields["maker"].choices = [("", "Any maker"), *makers]
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_action = "trace"
        self.helper.disable_csrf = True
        self.helper.form_error_title = "Nothing traced yet: please look at the marked fields."
        self.helper.attrs = {"class": "form", "role": "search"}
        self.helper.layout = Layout(
            Row(*ON_THE_BOX),
            HTML(
                '<details class="more-fields"{% if form.goes_beyond %} open{% endif %}>'
                "<summary>Product, maker, expiry, injector, day of treatment</summary>"
            ),
            *(Row(*fields) for fields in BEYOND),
            HTML("</details>"),
            Div(Submit("", "Trace"), css_class="form-actions"),
        )

    def clean_gtin(self) -> str:
        typed = self.cleaned_data["gtin"]
        try:
            return normalise_gtin(typed) if typed else ""
        except GtinError as error:
            raise forms.ValidationError(str(error)) from error

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if "lot" in self.errors and self.scan and self.scan.error:
            self.add_error("lot", self.scan.error)
        if not self.errors and not any(data.values()):
            self.add_error("lot", NOTHING_TYPED)
        for what in ("expires", "treated"):
            first, last = data.get(f"{what}_from"), data.get(f"{what}_to")
            if first and last and last < first:
                self.add_error(f"{what}_to", "This day lies before the first one.")
        if not data.get("lot"):
            self._bound_treatment(data)
        return data

    def _bound_treatment(self, data: dict[str, Any]) -> None:
        """Without a lot a search by treatment keeps to a stretch that is answered in seconds."""
        first, last = data.get("treated_from"), data.get("treated_to")
        if "treated_from" in self.errors or not (last or first or data.get("injector")):
            return
        if not first:
            self.add_error("treated_from", f"Say from which day. {AT_MOST}")
        elif ((last or timezone.localdate()) - first).days >= MOST_DAYS:
            self.add_error("treated_from", f"This is longer ago. {AT_MOST}")

    @property
    def goes_beyond(self) -> bool:
        """Whether anything is asked besides what stands on the box."""
        return any(self[name].value() or self[name].errors for name in chain(*BEYOND))

    @property
    def names_a_lot(self) -> bool:
        """Whether exactly one lot is meant."""
        return bool(self.cleaned_data["lot"]) and not self.goes_beyond

    @property
    def search(self) -> LotSearch:
        """What was typed, as a search."""
        data = dict(self.cleaned_data)
        product = data.pop("product")
        return LotSearch(number=data.pop("lot"), product_id=product and product.pk, **data)
