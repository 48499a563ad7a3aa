"""Input of the day list, the booking form and cancelling."""

from datetime import UTC, date, datetime

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout, Row
from django import forms
from django.core.exceptions import ValidationError
from django.forms.utils import from_current_timezone
from django.utils import timezone

from clinic.database.form_fields import DayField, name_what_is_required
from clinic.visit_kinds.enums import AppointmentKind
from records.appointments.models import Appointment
from records.appointments.queries import Advice, age_advice, day_advice, hours_advice, practitioners
from records.patients.models import Patient

MINUTES = [10, 15, 20, 30, 45, 60, 75, 90, 120, 180]


class DayForm(forms.Form):
    """Which day the list shows; today when nothing was asked."""

    day = DayField(required=False, label="Day")

    def shown_day(self) -> date:
        today = timezone.localdate()
        return (self.cleaned_data["day"] or today) if self.is_valid() else today


class AskedFor(forms.Form):
    """What the address of the booking form names."""

    patient = forms.ModelChoiceField(Patient.objects.all(), required=False)
    review = forms.IntegerField(required=False)
    day = DayField(required=False)


class TakenForm(forms.Form):
    """Whose day is shown beside the booking form."""

    practitioner = forms.ModelChoiceField(practitioners(), required=False)
    day = DayField(required=False)


class BookingForm(forms.ModelForm):
    """
    A booking for one patient.

    A day on which the clinic is closed, or that has passed, and an hour outside a plain day are
    asked about once: the box names the day, or the time, it was ticked for.
    """

    practitioner = forms.ModelChoiceField(practitioners(), empty_label="Choose")
    kind = forms.ChoiceField(choices=AppointmentKind.choices(), widget=forms.RadioSelect)
    day = DayField(label="Day")
    start = forms.TimeField(
        label="Start", widget=forms.TimeInput(format="%H:%M", attrs={"type": "time", "step": 300})
    )
    minutes = forms.TypedChoiceField(
        label="Length", coerce=int, choices=[(count, f"{count} min") for count in MINUTES]
    )
    confirmed = forms.CharField(required=False)

    class Meta:
        model = Appointment
        fields = ["practitioner", "kind", "minutes", "note"]

    def __init__(self, *args, patient: Patient, back: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.patient = patient
        self.back = back
        self.asks: list[Advice] = []
        self.to_confirm = ""
        name_what_is_required(self)
        self.fields["note"].widget.attrs["autocomplete"] = "off"
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Row("practitioner"),
            "kind",
            Row("day", "start", "minutes"),
            Field("note"),
            HTML('{% include "appointments/_confirm_day.html" %}'),
            HTML('{% include "appointments/_booking_actions.html" %}'),
        )

    def clean(self) -> dict:
        super().clean()
        cleaned = self.cleaned_data
        day, start = cleaned.get("day"), cleaned.get("start")
        if day is None or start is None:
            return cleaned
        try:
            starts_at = from_current_timezone(datetime.combine(day, start))
        except ValidationError:
            self.add_error("start", "The clocks change in that hour: choose another time.")
            return cleaned
        self.instance.starts_at = starts_at.astimezone(UTC)
        minutes = cleaned.get("minutes")
        odd_hours = list(hours_advice(starts_at, minutes)) if minutes else []
        self.asks = [*day_advice(day, today=timezone.localdate()), *odd_hours]
        self.to_confirm = f"{day} {start:%H:%M} {minutes}" if odd_hours else f"{day}"
        if self.asks and cleaned.get("confirmed") != self.to_confirm:
            self.add_error("confirmed", "Tick the box to book it all the same, or change it.")
        return cleaned

    @property
    def age_advice(self) -> list[Advice]:
        """For the chosen day, or today while none is chosen."""
        chosen = getattr(self, "cleaned_data", {}).get("day")
        return list(age_advice(self.instance.patient, chosen or timezone.localdate()))


class CancelForm(forms.Form):
    reason = forms.CharField(
        label="Why it is cancelled",
        max_length=200,
        error_messages={"required": "Say why it is cancelled."},
        help_text="Nothing clinical.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args, back: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.back = back
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Field("reason"), HTML('{% include "appointments/_cancel_actions.html" %}')
        )
