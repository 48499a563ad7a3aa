"""Input of the booking page."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import cast

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Div, Field, Layout, Row
from django import forms
from django.utils import timezone
from django.utils.functional import cached_property

from clinic.database.form_fields import DayField, name_what_is_required
from clinic.rooms.models import Room
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import VisitKind
from clinic.visit_kinds.queries import offered_kinds, visit_kind
from records.appointments.forms.times import MINUTES, OWN_TIME, TimeChoiceForm, closed_or_away
from records.appointments.models import Appointment
from records.appointments.queries.day import practitioners
from records.appointments.queries.slots import FURTHEST_DAYS, Wanted
from records.appointments.services.series import repeated
from records.appointments.settling import OpenMatter
from records.patients.models import Patient


class AskedFor(forms.Form):
    """What the address of the booking form names; what cannot be read is passed over."""

    patient = forms.ModelChoiceField(Patient.objects.all(), required=False)
    review = forms.IntegerField(required=False, min_value=1)
    practitioner = forms.ModelChoiceField(practitioners(), required=False)
    room = forms.ModelChoiceField(Room.objects.in_use(), required=False)
    kind = forms.ChoiceField(choices=AppointmentKind.choices(), required=False)
    day = DayField(required=False)
    start = forms.TimeField(required=False)
    walk_in = forms.BooleanField(required=False)

    def starting_values(self, user) -> dict:
        """What the booking form starts with: an injector books for themself first."""
        given = self.cleaned_data
        if user.is_injector and not (user.is_front_desk or given.get("practitioner")):
            given["practitioner"] = user
        asked = {name: given.get(name) for name in ("practitioner", "room", "day", "start")}
        asked["kind"] = given.get("kind") or next(iter(offered_kinds()), "")
        asked["slot"] = OWN_TIME if asked["start"] else ""
        return asked


class TimesForm(forms.Form):
    """For what the booking page looks for times: half filled in, and only the patient is needed."""

    patient = forms.ModelChoiceField(Patient.objects.all())
    moving = forms.ModelChoiceField(Appointment.objects.all(), required=False)
    kind = forms.ChoiceField(choices=AppointmentKind.choices(), required=False)
    practitioner = forms.ModelChoiceField(practitioners(), required=False)
    first_choice = forms.ModelChoiceField(practitioners(), required=False)
    minutes = forms.TypedChoiceField(
        coerce=int, empty_value=None, required=False, choices=[(count, count) for count in MINUTES]
    )
    look_from = DayField(required=False)
    look_until = DayField(required=False)
    target = DayField(required=False)
    whole = DayField(required=False)
    slot = forms.CharField(required=False)
    offered = forms.CharField(required=False)

    def wanted(self) -> Wanted:
        """What is looked for, within so many days from the first one."""
        given = {name: self.cleaned_data.get(name) for name in self.fields}
        today = timezone.localdate()
        first = max(given["look_from"] or today, today)
        furthest = first + timedelta(days=FURTHEST_DAYS)
        last, moving = given["look_until"], given["moving"]
        kind = moving.kind if moving else given["kind"] or AppointmentKind.CONSULTATION
        return Wanted(
            kind=visit_kind(AppointmentKind(kind)),
            first=first,
            last=min(last, furthest) if last and last >= today else furthest,
            minutes=given["minutes"] or (moving.minutes if moving else None),
            patient=moving.patient if moving else given["patient"],
            only=given["practitioner"],
            first_choice=given["first_choice"],
            moving=moving,
        )


@dataclass(frozen=True, slots=True)
class Repeat:
    """So many appointments, so many weeks apart by the calendar."""

    count: int = 1
    weeks: int = 1


_REPEAT = [
    HTML('<details class="more-fields"{% if form.repeat_is_asked %} open{% endif %}>'),
    HTML("<summary>Repeat it</summary>"),
    Row("times", "weeks"),
    HTML("</details>"),
]


class BookingForm(TimeChoiceForm):
    """
    A booking for one patient.

    `repeats` lets it be a series; `matters` are what the visit, or the first of a series, can
    settle: the first of them is ticked. Of the kinds of visit those are offered that the clinic
    offers, and the one that the form starts with.
    """

    kind = forms.ChoiceField(choices=AppointmentKind.choices(), widget=forms.RadioSelect)
    note = forms.CharField(
        max_length=200,
        required=False,
        help_text="Nothing clinical.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    times = forms.TypedChoiceField(
        label="How often",
        coerce=int,
        required=False,
        empty_value=None,
        choices=[(1, "Once"), *((count, f"{count} times") for count in range(2, 13))],
    )
    weeks = forms.TypedChoiceField(
        label="Apart",
        coerce=int,
        required=False,
        empty_value=None,
        choices=[(1, "1 week"), *((count, f"{count} weeks") for count in (2, 3, 4, 6, 8, 12, 16))],
    )

    skips = forms.BooleanField(required=False)
    settles = forms.MultipleChoiceField(
        label="What it settles",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(
        self,
        *args,
        patient: Patient,
        repeats: bool = False,
        matters: Sequence[OpenMatter] = (),
        **kwargs,
    ):
        super().__init__(*args, instance=Appointment(patient=patient), **kwargs)
        self.repeats, self.matters = repeats, matters
        self._offer_kinds()
        self._offer_matters()
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            HTML('{% include "appointments/_confirm_day.html" %}'),
            "kind",
            Row("practitioner", "minutes"),
            *([Div("settles", css_class="settles")] if matters else []),
            HTML('{% include "appointments/_times_field.html" %}'),
            Field("note"),
            *_REPEAT[: None if repeats else 0],
            HTML('{% include "appointments/_booking_actions.html" %}'),
        )

    def _offer_kinds(self) -> None:
        offered = [*offered_kinds(), self.initial.get("kind")]
        field = cast(forms.ChoiceField, self.fields["kind"])
        field.choices = [choice for choice in AppointmentKind.choices() if choice[0] in offered]

    def _offer_matters(self) -> None:
        field = cast(forms.MultipleChoiceField, self.fields["settles"])
        field.choices = [(one.key, f"This visit settles {one.words}") for one in self.matters]
        field.initial = [one.key for one in self.matters[:1]]

    @property
    def settled(self) -> list[OpenMatter]:
        """What was ticked, as far as a visit of this kind settles it."""
        kind, ticked = self.cleaned_data["kind"], self.cleaned_data["settles"]
        return [one for one in self.matters if one.key in ticked and kind in one.kinds]

    @cached_property
    def visit_kind(self) -> VisitKind:
        return visit_kind(AppointmentKind(self.cleaned_data["kind"]))

    def clean(self) -> dict:
        super().clean()
        # Said above the form: the field may be hidden, or have nothing left to choose.
        if self.errors.pop("settles", None):
            self.add_error(None, "What the visit was to settle is booked or closed by now.")
        self.instance.kind = self.cleaned_data.get("kind", "")
        self.instance.note = self.cleaned_data.get("note", "")
        return self.cleaned_data

    @property
    def repeat(self) -> Repeat:
        given = self.cleaned_data
        return (
            Repeat(given.get("times") or 1, given.get("weeks") or 1) if self.repeats else Repeat()
        )

    def later(self) -> list[Appointment]:
        repeat = self.repeat
        later = repeated(self.instance, count=repeat.count, weeks=repeat.weeks)[1:]
        if self.cleaned_data.get("skips"):
            return [one for one in later if not any(closed_or_away(one))]
        return later

    @property
    def repeat_is_asked(self) -> bool:
        return str(self["times"].value() or 1) != "1"

    @property
    def look_from(self) -> date | None:
        """The day from which the page looks for times: the one it was opened for."""
        return self.initial.get("day")
