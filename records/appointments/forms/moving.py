"""Input of moving an appointment."""

from datetime import date, datetime

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout, Row
from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.functional import cached_property

from clinic.database.form_fields import MomentField
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import VisitKind
from clinic.visit_kinds.queries import visit_kind
from records.appointments.forms.times import OWN_TIME, WHOEVER_IS_FREE, TimeChoiceForm
from records.appointments.models import Appointment
from records.appointments.queries.slots import room_that_suits
from records.appointments.services.moving import Whereto


class MoveForm(TimeChoiceForm):
    """
    Where an appointment is moved to. What is not sent stays: a drag names only what it changes.

    `seen` is the start that the person saw, so that a colleague's move is not undone unseen.
    """

    reason = forms.CharField(
        required=False,
        max_length=200,
        label="Why",
        help_text="May be left out. Nothing clinical.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    seen = MomentField(required=False, widget=forms.HiddenInput())

    ACT = "move"

    def __init__(self, *args, instance: Appointment, **kwargs):
        self.stored = instance
        copy = Appointment.objects.get(pk=instance.pk)
        super().__init__(*args, instance=copy, **kwargs)
        local = timezone.localtime(instance.starts_at)
        self.initial = {
            **self.initial,
            "practitioner": instance.practitioner_id,
            "minutes": instance.minutes,
            "room": instance.room_id,
            "day": local.date(),
            "start": local.time(),
            "slot": OWN_TIME,
            "seen": f"{local:%Y-%m-%dT%H:%M}",
        }
        self.offer_length(instance.minutes)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            HTML('{% include "appointments/_confirm_day.html" %}'),
            Row("practitioner", "minutes"),
            HTML('{% include "appointments/_times_field.html" %}'),
            Field("reason"),
            "seen",
            HTML('{% include "appointments/_move_actions.html" %}'),
        )

    @cached_property
    def visit_kind(self) -> VisitKind:
        return visit_kind(AppointmentKind(self.stored.kind))

    def clean_day(self) -> date | None:
        day = self.cleaned_data.get("day")
        if day is not None and day < timezone.localdate() and "day" in self.changed_data:
            raise ValidationError("That day has passed: move it to today or a later day.")
        return day

    def clean_slot(self) -> str:
        """A time of the list that is looked up for somebody else is not taken unseen."""
        slot, person = self.cleaned_data["slot"], self.cleaned_data.get("practitioner")
        whose = slot.split("|")[1:2]
        if person and whose and whose != [str(person.pk)]:
            raise ValidationError(
                f"That time is not {person}'s. Choose one of the times shown now, or "
                f"“{WHOEVER_IS_FREE}” above them."
            )
        return slot

    def fill(self, starts_at: datetime) -> None:
        """Its preparation and buffer stay as they were booked."""
        one, given = self.instance, self.cleaned_data
        one.starts_at, one.practitioner = starts_at, given["practitioner"]
        one.minutes = given.get("minutes") or self.stored.minutes
        one.room = given.get("room")
        if one.room is None and self.stored.room_id is not None:
            one.room = room_that_suits(one, self.visit_kind)

    @property
    def to(self) -> Whereto:
        one = self.instance
        return Whereto(one.starts_at, one.minutes, one.practitioner, one.room)
