"""What is asked of the figures."""

from datetime import date

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Div, Layout
from django import forms
from django.utils import timezone

from clinic.database.form_fields import DayField
from clinic.staff.models import User
from planning.stretches import Span, Stretch, latest
from records.figures.enums import GroupBy
from records.figures.queries.asked import MOST_DAYS, Asked

OWN_DAYS = Span.DAYS.value
OFFERED = ((Span.MONTH, "Months", 18), (Span.QUARTER, "Quarters", 8), (Span.YEAR, "Years", 4))


class FiguresForm(forms.Form):
    """Of which days, and by what; the last whole month where nothing is said."""

    days = forms.ChoiceField(label="Period", required=False)
    first = DayField(label="From", required=False)
    last = DayField(label="Up to", required=False)
    by = forms.ChoiceField(label="Visits by", required=False, choices=GroupBy.choices())
    person = forms.ModelChoiceField(
        User.objects.filter(is_injector=True),
        label="Practitioner",
        required=False,
        empty_label="Everybody",
    )

    def __init__(self, data, *args, **kwargs):
        super().__init__(data.copy(), *args, **kwargs)
        self.today = timezone.localdate()
        self.stretches = {
            stretch.key: stretch
            for span, _, count in OFFERED
            for stretch in latest(self.today, span, count)
        }
        self.fields["days"].choices = [
            *((label, [(one.key, one.label) for one in latest(self.today, span, count)])
              for span, label, count in OFFERED),
            (OWN_DAYS, "Choose the days"),
        ]  # fmt: skip
        if not data.get("days"):
            is_own = bool(data.get("first") or data.get("last"))
            last_month = next(latest(self.today, Span.MONTH, 1)).before()
            self.data["days"] = OWN_DAYS if is_own else last_month.key
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_error_title = "Nothing counted yet: please look at the marked fields."
        self.helper.attrs = {"class": "form form--inline"}
        self.helper.layout = Layout(
            "days", Div("first", "last", css_class="figures__own"), "by", "person",
            HTML('<button class="button" type="submit">Show</button>'),
        )  # fmt: skip

    def clean(self) -> dict:
        data = super().clean() or self.cleaned_data
        if data.get("days") == OWN_DAYS and not self.errors:
            self._check_own(data["first"], data["last"])
        return data

    def _check_own(self, first: date | None, last: date | None) -> None:
        for name, day in (("first", first), ("last", last)):
            if day is None:
                self.add_error(name, "Give this day, or choose a month, quarter or year.")
        if first is None or last is None:
            return
        if last < first:
            self.add_error("last", "This day lies before the first one.")
        elif (last - first).days >= MOST_DAYS:
            self.add_error("first", "Ask for three years at most: choose a later day.")
        elif first > self.today:
            self.add_error("first", "This day is still to come: nothing is counted yet.")

    @property
    def asked(self) -> Asked:
        data = self.cleaned_data
        stretch = self.stretches.get(data["days"]) or Stretch(data["first"], data["last"])
        person = data["person"]
        return Asked(
            stretch=stretch,
            today=self.today,
            by=GroupBy(data["by"] or GroupBy.PRACTITIONER),
            person_id=person.pk if person else None,
        )
