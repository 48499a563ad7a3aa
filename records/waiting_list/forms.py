"""Input of the waiting list."""

from collections.abc import Iterable
from typing import cast

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Fieldset, Layout, Row
from django import forms
from django.http import QueryDict
from django.utils import timezone

from clinic.database.form_fields import DayField, name_what_is_required
from clinic.sites.models import Site
from clinic.visit_kinds.enums import AppointmentKind
from planning.waiting import DayPart
from records.appointments.forms.times import MINUTES
from records.appointments.queries.day import practitioners
from records.patients.models import Patient
from records.waiting_list.models import WaitingEntry, every_day

WEEKDAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
NOTICE = [
    (0, "None: comes at once"), (2, "2 hours"), (6, "6 hours"), (12, "12 hours"), (24, "A day"),
    (48, "2 days"), (72, "3 days"), (168, "A week"),
]  # fmt: skip
_WIDE = "field--full"


class AskedFor(forms.Form):
    """What an address of the waiting list names; what cannot be read is passed over."""

    patient = forms.ModelChoiceField(Patient.objects.all(), required=False)
    kind = forms.ChoiceField(choices=AppointmentKind.choices(), required=False)
    practitioner = forms.ModelChoiceField(practitioners(), required=False)


class FilterForm(forms.Form):
    """Which part of the list is shown."""

    kind = forms.ChoiceField(
        label="Visit",
        required=False,
        choices=[("", "All visits"), *AppointmentKind.choices()],
    )
    practitioner = forms.ModelChoiceField(
        practitioners(),
        label="With",
        required=False,
        empty_label="Anybody",
        to_field_name="pk",
    )


class EntryForm(forms.ModelForm):
    """What the patient of the instance waits for, and what suits."""

    kind = forms.ChoiceField(
        label="Visit", choices=AppointmentKind.choices(), widget=forms.RadioSelect
    )
    minutes = forms.TypedChoiceField(label="Length", coerce=int, empty_value=None, required=False)
    practitioner = forms.ModelChoiceField(
        practitioners(), label="With", required=False, empty_label="Anybody"
    )
    site = forms.ModelChoiceField(Site.objects.in_use(), required=False, empty_label="Any site")
    first_on = DayField(label="Earliest day")
    last_on = DayField(label="Latest day", required=False, help_text="Empty: any day after it.")
    weekdays = forms.TypedMultipleChoiceField(
        label="Days that suit",
        coerce=int,
        choices=list(enumerate(WEEKDAYS, start=1)),
        widget=forms.CheckboxSelectMultiple,
    )
    part = forms.ChoiceField(
        label="Part of the day",
        choices=DayPart.choices(),
        widget=forms.RadioSelect,
        help_text="The start decides: a morning visit starts before 12:00.",
    )
    notice_hours = forms.TypedChoiceField(
        label="Notice needed", coerce=int, choices=[], help_text="Before the start."
    )

    class Meta:
        model = WaitingEntry
        fields = [
            "kind", "minutes", "practitioner", "site", "first_on", "last_on", "weekdays", "part",
            "notice_hours", "is_urgent", "urgent_reason", "note",
        ]  # fmt: skip
        labels = {"is_urgent": "Urgent: comes before the others", "urgent_reason": "Why"}
        help_texts = {"urgent_reason": "Nothing clinical."}
        widgets = {
            "note": forms.TextInput(attrs={"autocomplete": "off", "dir": "auto"}),
            "urgent_reason": forms.TextInput(attrs={"autocomplete": "off", "dir": "auto"}),
        }

    def __init__(
        self,
        data: QueryDict | None = None,
        *,
        instance: WaitingEntry,
        back: str,
        initial: dict | None = None,
    ) -> None:
        if instance.pk is None:
            start = {"first_on": timezone.localdate(), "weekdays": every_day()}
            initial = start | (initial or {})
        super().__init__(data, instance=instance, initial=initial)
        self.back = back
        self._choices_of("minutes").choices = [
            ("", "As usual"),
            *((count, f"{count} min") for count in _with(instance.minutes, MINUTES)),
        ]
        offered = dict(NOTICE)
        self._choices_of("notice_hours").choices = [
            (count, offered.get(count, f"{count} hours"))
            for count in _with(instance.notice_hours, offered)
        ]
        if instance.site_id is None and Site.objects.in_use().count() < 2:
            del self.fields["site"]
        name_what_is_required(self)
        self.fields["weekdays"].error_messages["required"] = "Choose at least one day that suits."
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = self._layout()

    def _choices_of(self, name: str) -> forms.ChoiceField:
        return cast(forms.ChoiceField, self.fields[name])

    def _layout(self) -> Layout:
        with_whom = [name for name in ("practitioner", "minutes", "site") if name in self.fields]
        return Layout(
            Field("kind", wrapper_class=_WIDE),
            Row(*with_whom, css_class=_WIDE),
            Fieldset(
                "What suits",
                "first_on",
                "last_on",
                Field("weekdays", wrapper_class=_WIDE),
                Field("part", wrapper_class=_WIDE),
                "notice_hours",
            ),
            Fieldset(
                "Before the others",
                Field("is_urgent", wrapper_class=_WIDE),
                Field("urgent_reason", wrapper_class=_WIDE),
            ),
            Field("note", wrapper_class=_WIDE),
            HTML('{% include "waiting_list/_form_actions.html" with label="Save" %}'),
        )

    def clean(self) -> dict:
        data = super().clean() or self.cleaned_data
        first, last = data.get("first_on"), data.get("last_on")
        if first and last and last < first:
            self.add_error("last_on", "The latest day lies before the earliest day.")
        elif last and last < timezone.localdate() and "last_on" in self.changed_data:
            self.add_error("last_on", "This day has passed. Check the year.")
        if data.get("is_urgent") and not (data.get("urgent_reason") or "").strip():
            self.add_error("urgent_reason", "Say why it is urgent.")
        return data

    def clean_weekdays(self) -> list[int]:
        return sorted(self.cleaned_data["weekdays"])


def _with(value: int | None, usual: Iterable[int]) -> list[int]:
    """The usual ones, and the one that is stored."""
    return sorted({*usual, *([] if value is None else [value])})


class ReasonForm(forms.Form):
    """Why an entry is taken off, or an offer taken back."""

    reason = forms.CharField(
        max_length=200,
        help_text="Nothing clinical.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "dir": "auto"}),
    )

    def __init__(self, *args, back: str, label: str, button: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.back = back
        self.fields["reason"].label = label
        self.fields["reason"].error_messages["required"] = f"Say: {label[:1].lower()}{label[1:]}."
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            "reason",
            HTML(f'{{% include "waiting_list/_form_actions.html" with label="{button}" %}}'),
        )


class ChosenForm(forms.Form):
    """Who of those who fit is offered a time; the first in order where nobody is named."""

    entry = forms.ModelChoiceField(WaitingEntry.objects.all(), required=False)
