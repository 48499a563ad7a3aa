"""What the address of the fragment names."""

from datetime import UTC, datetime

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator

from clinic.bookings.registry import TimeAway
from clinic.rooms.models import Room
from clinic.staff.models import User
from records.appointments.models import Appointment

# As for days elsewhere: beyond these nobody means it, and reckoning overflows.
_BOUNDS = [
    MinValueValidator(datetime(1900, 1, 1, tzinfo=UTC)),
    MaxValueValidator(datetime(3000, 1, 1, tzinfo=UTC)),
]


class TimeAwayForm(forms.Form):
    starts_at = forms.DateTimeField(validators=_BOUNDS)
    ends_at = forms.DateTimeField(validators=_BOUNDS)
    person = forms.ModelChoiceField(User.objects.all(), required=False)
    room = forms.ModelChoiceField(Room.objects.all(), required=False)

    def time_away(self) -> TimeAway | None:
        """None for an address that names no span."""
        return TimeAway(**self.cleaned_data) if self.is_valid() else None


class NamedVisitsForm(forms.Form):
    visit = forms.ModelMultipleChoiceField(Appointment.objects.all(), required=False)
    of = forms.IntegerField(min_value=0, max_value=1_000_000, required=False)

    def visits(self) -> list[Appointment]:
        """None for an address that names what is none."""
        if not self.is_valid():
            return []
        named = self.cleaned_data["visit"].select_related("patient", "practitioner", "room")
        return list(named.order_by("starts_at", "id"))

    def count(self) -> int:
        return (self.is_valid() and self.cleaned_data["of"]) or 0
