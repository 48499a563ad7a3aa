"""What the diary's addresses name: the day, the columns, the site, whose week."""

from datetime import date

from django import forms
from django.utils import timezone

from clinic.database.form_fields import DayField
from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from records.diary.enums import By


class DayForm(forms.Form):
    """Which day; today when nothing that is a day was asked."""

    day = DayField(required=False, label="Day")

    def shown_day(self) -> date:
        return self.asked("day") or timezone.localdate()

    def asked(self, name: str):
        """What was asked for, None where it is nothing we know."""
        self.is_valid()
        return self.cleaned_data.get(name)


class DiaryForm(DayForm):
    """A day, by people or by rooms, of one site or of all."""

    by = forms.ChoiceField(choices=By.choices(), required=False)
    site = forms.ModelChoiceField(
        Site.objects.in_use(), required=False, empty_label="All sites", label="Site"
    )

    @property
    def by_what(self) -> By:
        return By(self.asked("by") or By.PRACTITIONER)


class WeekForm(DayForm):
    """The week around a day, of one person or room, or everybody's in short."""

    practitioner = forms.ModelChoiceField(User.objects.all(), required=False, label="Whose")
    room = forms.ModelChoiceField(Room.objects.all(), required=False)
    site = forms.ModelChoiceField(
        Site.objects.in_use(), required=False, empty_label="All sites", label="Site"
    )

    @property
    def whose(self) -> User | Room | None:
        return self.asked("practitioner") or self.asked("room")


class SheetForm(DayForm):
    """A day to print, of one practitioner or of all."""

    practitioner = forms.ModelChoiceField(
        User.objects.all(), required=False, empty_label="Everybody", label="Practitioner"
    )
