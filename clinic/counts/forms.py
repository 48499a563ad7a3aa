"""Forms of counts: what is counted, the lines in nobody's books, and the reasons for posting."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout, Row, Submit
from django import forms

from clinic.counts.enums import CountScope
from clinic.counts.models import CountedExtra
from clinic.database.form_fields import DayField, name_what_is_required, say_bounds
from clinic.places.models import Place
from clinic.products.models import Product
from clinic.stock.validators import validate_expiry


class StartForm(forms.Form):
    scope = forms.ChoiceField(
        label="What is counted", choices=CountScope.choices(), widget=forms.RadioSelect
    )
    place = forms.ModelChoiceField(
        Place.objects.in_use(), required=False, empty_label="Choose a place",
        help_text="Only where one place is counted.",
    )  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout("scope", "place")
        self.helper.add_input(Submit("save", "Start counting"))

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("scope") == CountScope.PLACE:
            if not cleaned.get("place") and "place" not in self.errors:
                self.add_error("place", "Choose the place that is counted.")
        else:
            cleaned["place"] = None
        return cleaned


class ExtraForm(forms.ModelForm):
    """What lies there and is in nobody's books."""

    class Meta:
        model = CountedExtra
        fields = ["product", "number", "expires_on", "serial", "quantity"]
        field_classes = {"expires_on": DayField}
        labels = {"expires_on": "Expiry date", "serial": "Serial number"}
        help_texts = {
            "number": "Exactly as printed after LOT: capitals, zeros and signs count.",
            "expires_on": "Usable through this day. Only a month is printed: its last day.",
            "serial": "Where one is printed, a line for each box.",
            "quantity": "Syringes or vials, not boxes.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        product = forms.ModelChoiceField(Product.objects.all(), empty_label="Choose a product")
        self.fields["product"] = product
        self.fields["expires_on"].required = True
        self.fields["expires_on"].validators.append(validate_expiry)
        for name in ("number", "serial"):
            self.fields[name].widget.attrs |= {
                "autocomplete": "off", "autocapitalize": "off", "spellcheck": "false",
            }  # fmt: skip
        name_what_is_required(self)
        say_bounds(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            "product", Row("number", "serial"), Row("expires_on", "quantity")
        )
        self.helper.add_input(Submit("save", "Save line"))

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("serial") and cleaned.get("quantity", 1) != 1:
            self.add_error("quantity", "A serial number is of one box: type 1, and write the "
                           "others down as lines of their own.")  # fmt: skip
        if cleaned.get("product"):
            self.instance.gtin = ""
        return cleaned


def explanations(sent) -> dict[str, str]:
    """
    The reason typed for each line, by the line's name; where none was, the one for all of them.

    Args:
        sent: a QueryDict; `for-all` is the reason for lines without one of their own.
    """
    for_all = sent.get("for-all", "").strip()
    said = {
        name: sent.get(name, "").strip() for name in sent if name.startswith(("unit-", "extra-"))
    }
    return {name: text or for_all for name, text in said.items()}
