"""Forms of working hours: adding them for several weekdays, changing one span, copying a day."""

from datetime import timedelta

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout, Row, Submit
from django import forms
from django.utils import timezone

from clinic.bookings.forms import ASK, AsksAboutBooked
from clinic.database.form_fields import DayField, name_what_is_required
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.hours.forms.fields import ClockField
from clinic.hours.models import WEEKDAYS, WorkingTime
from clinic.hours.queries import opens_on
from clinic.sites.models import Site

_BEFORE = "Type a time after the start."
_NO_DAY = "Choose at least one day."
_FURTHEST_BACK = timedelta(days=3653)
_UNTIL_HELP = "Empty: until somebody changes them."


def _check_ends(form: forms.BaseForm, first: str, last: str, words: str) -> None:
    start, end = form.cleaned_data.get(first), form.cleaned_data.get(last)
    if start and end and end < start:
        form.add_error(last, words)


def _check_first_day(form: forms.BaseForm, name: str) -> None:
    """A slip in the year would change what the figures of all the years since say."""
    first = form.cleaned_data.get(name)
    if first and first < timezone.localdate() - _FURTHEST_BACK:
        form.add_error(name, "This day lies more than ten years back. Check the year.")


def _check_open(form: forms.BaseForm, name: str) -> None:
    """Hours on a weekday on which the clinic is closed could never be booked."""
    closed = [day for day in form.cleaned_data.get(name, ()) if not opens_on(day)]
    if closed:
        days = " and ".join(f"{dict(WEEKDAYS)[day]}s" for day in closed)
        form.add_error(name, f"The clinic is closed on {days}. Open it then in the policy first.")


def _once() -> FormHelper:
    helper = FormHelper()
    helper.attrs = {"data-once": ""}
    return helper


def _weekdays_field(label: str) -> forms.TypedMultipleChoiceField:
    return forms.TypedMultipleChoiceField(
        label=label, coerce=int, choices=WEEKDAYS, widget=forms.CheckboxSelectMultiple
    )  # fmt: skip


class HoursForm(AsksAboutBooked):
    """Hours of one person on one or more weekdays, with a break if there is one."""

    weekdays = _weekdays_field("Days")
    starts = ClockField(label="From")
    ends = ClockField(label="To")
    break_starts = ClockField(label="Break from", required=False)
    break_ends = ClockField(label="Break to", required=False)
    site = forms.ModelChoiceField(Site.objects.none(), label="Site", empty_label="Choose")
    from_on = DayField(label="Holds from")
    until_on = DayField(label="Holds until", required=False, help_text=_UNTIL_HELP)

    def __init__(self, *args, person, **kwargs):
        super().__init__(*args, **kwargs)
        self._person = person
        name_what_is_required(self)
        self.fields["weekdays"].error_messages["required"] = _NO_DAY
        sites = Site.objects.in_use()
        self.fields["site"].queryset = sites
        self.initial = {"from_on": timezone.localdate(), "site": sites.first(), **self.initial}
        self.helper = _once()
        self.helper.layout = Layout(
            "weekdays",
            Row("starts", "ends"),
            Row("break_starts", "break_ends"),
            "site",
            Row("from_on", "until_on"),
            ASK,
        )
        self.helper.add_input(Submit("save", "Add hours"))

    def clean(self):
        cleaned = super().clean()
        starts, ends = cleaned.get("starts"), cleaned.get("ends")
        if starts and ends and ends <= starts:
            self.add_error("ends", _BEFORE)
        _check_ends(self, "from_on", "until_on", "The last day lies before the first day.")
        _check_first_day(self, "from_on")
        _check_open(self, "weekdays")
        self._check_break(starts, ends, cleaned.get("break_starts"), cleaned.get("break_ends"))
        return cleaned

    def _check_break(self, starts, ends, first, last) -> None:
        if self.errors.keys() & {"break_starts", "break_ends", "starts", "ends"}:
            return
        if (first is None) != (last is None):
            missing = "break_starts" if first is None else "break_ends"
            self.add_error(missing, "Give both times of the break, or none.")
        elif first is not None and not starts < first < last < ends:
            self.add_error(
                "break_starts", f"The break lies between {starts:%H:%M} and {ends:%H:%M}, and ends "
                "after it starts.",
            )  # fmt: skip

    def rows(self) -> list[WorkingTime]:
        """Not yet stored; two for a day with a break."""
        typed = self.cleaned_data
        first, last = typed["break_starts"], typed["break_ends"]
        spans = [(typed["starts"], typed["ends"])]
        if first:
            spans = [(typed["starts"], first), (last, typed["ends"])]
        return [
            WorkingTime(
                person=self._person, site=typed["site"], weekday=weekday, starts=starts, ends=ends,
                from_on=typed["from_on"], until_on=typed["until_on"],
            )
            for weekday in typed["weekdays"]
            for starts, ends in spans
        ]  # fmt: skip


class ChangeForm(AsksAboutBooked, SeenValuesForm):
    """One span of one weekday, from a day on."""

    starts = ClockField(label="From")
    ends = ClockField(label="To")

    class Meta:
        model = WorkingTime
        fields = ["starts", "ends", "site", "from_on", "until_on"]
        field_classes = {"from_on": DayField, "until_on": DayField}
        labels = {"from_on": "Holds from", "until_on": "Holds until"}
        help_texts = {
            "from_on": "The hours until now end the day before.",
            "until_on": _UNTIL_HELP,
        }

    def __init__(self, *args, instance, **kwargs):
        since = max(instance.from_on, timezone.localdate())
        super().__init__(*args, instance=instance, initial={"from_on": since}, **kwargs)
        name_what_is_required(self)
        site = self.fields["site"]
        site.queryset = Site.objects.in_use() | Site.objects.filter(pk=instance.site_id)
        site.empty_label = None
        self.helper = _once()
        self.helper.layout = Layout(
            SEEN, Row("starts", "ends"), "site", Row("from_on", "until_on"), ASK
        )
        self.helper.add_input(Submit("save", "Save hours"))

    def clean(self):
        cleaned = super().clean()
        starts, ends = cleaned.get("starts"), cleaned.get("ends")
        if starts and ends and ends <= starts:
            self.add_error("ends", _BEFORE)
        _check_ends(self, "from_on", "until_on", "The last day lies before the first day.")
        if "from_on" in self.changed_data:
            _check_first_day(self, "from_on")
        return cleaned


class CopyForm(AsksAboutBooked):
    """The hours of one weekday for others, instead of what they have."""

    weekday = forms.TypedChoiceField(label="The hours of", coerce=int, choices=WEEKDAYS)
    to = _weekdays_field("Also on")
    copied_from = DayField(label="From")

    def __init__(self, *args, weekdays, **kwargs):
        """`weekdays`: those that have hours."""
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.fields["to"].error_messages["required"] = _NO_DAY
        names = dict(WEEKDAYS)
        self.fields["weekday"].choices = [(number, names[number]) for number in weekdays]
        self.initial = {"copied_from": timezone.localdate(), **self.initial}
        self.helper = _once()
        self.helper.layout = Layout(Row("weekday", "copied_from"), "to", ASK)
        self.helper.add_input(Submit("save", "Copy the day"))

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("weekday") in cleaned.get("to", []):
            self.add_error("to", "Choose other days than the one that is copied.")
        _check_first_day(self, "copied_from")
        _check_open(self, "to")
        return cleaned


class EndForm(AsksAboutBooked):
    """Nothing to type: hours are ended, and visits may be booked then."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = _once()
        self.helper.layout = Layout(ASK)
        self.helper.add_input(Submit("save", "End these hours"))
