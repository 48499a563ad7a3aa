"""What the audit of use is asked."""

from datetime import date, timedelta

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Layout
from dateutil.relativedelta import relativedelta
from django import forms
from django.utils import timezone

from clinic.database.form_fields import DayField
from clinic.products.models import Product
from records.usage.enums import GroupBy
from records.usage.queries.period import Period

# Three years: every point of the period is looked at, which a large clinic waits for.
MOST_DAYS = 1_096


class PeriodForm(forms.Form):
    """From when to when, and of which product; the last twelve months where nothing is said."""

    first = DayField(label="From", required=False)
    last = DayField(label="Up to", required=False)
    product = forms.ModelChoiceField(
        Product.objects.order_by("name"), required=False, empty_label="Every product"
    )

    def __init__(self, data, *args, **kwargs):
        super().__init__(data, *args, **kwargs)
        last = timezone.localdate()
        for name, day in (("first", last - relativedelta(years=1) + timedelta(days=1)),
                          ("last", last)):  # fmt: skip
            self.fields[name].initial = day
            if not data.get(name):
                self.data = self.data.copy()
                self.data[name] = day.isoformat()
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_error_title = "Nothing counted yet: please look at the marked fields."
        self.helper.attrs = {"class": "form form--inline"}
        self.helper.layout = Layout(
            *self.fields, HTML('<button class="button" type="submit">Show</button>')
        )

    def clean(self) -> dict:
        data = super().clean() or self.cleaned_data
        first, last = data.get("first"), data.get("last")
        if first and last:
            self._check_length(first, last)
        return data

    def _check_length(self, first: date, last: date) -> None:
        if last < first:
            self.add_error("last", "This day lies before the first one.")
        elif (last - first).days >= MOST_DAYS:
            self.add_error("first", "Ask for three years at most: choose a later day.")

    @property
    def period(self) -> Period:
        data = self.cleaned_data
        product = data["product"]
        return Period(data["first"], data["last"], product.pk if product else None)


class UseForm(PeriodForm):
    """And what the use is added up by."""

    by = forms.ChoiceField(label="Add up by", required=False, choices=GroupBy.choices())

    field_order = ["by", "first", "last", "product"]

    @property
    def chosen(self) -> GroupBy:
        return GroupBy(self.cleaned_data["by"] or GroupBy.PRODUCT)
