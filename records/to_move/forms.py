"""What the address of the fragment names."""

from django import forms

from clinic.bookings.registry import TimeAway
from clinic.rooms.models import Room
from clinic.staff.models import User


class TimeAwayForm(forms.Form):
    starts_at = forms.DateTimeField()
    ends_at = forms.DateTimeField()
    person = forms.ModelChoiceField(User.objects.all(), required=False)
    room = forms.ModelChoiceField(Room.objects.all(), required=False)

    def time_away(self) -> TimeAway | None:
        """None for an address that names no span."""
        return TimeAway(**self.cleaned_data) if self.is_valid() else None
