"""The form of an absence: whole days, or from and until a time."""

from datetime import time, timedelta

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout, Row, Submit
from django import forms
from django.db.models import Q
from django.utils import timezone

from clinic.bookings.forms import ASK, AsksAboutBooked
from clinic.bookings.registry import TimeAway
from clinic.database.form_fields import DayField, name_what_is_required
from clinic.database.moments import moment_at
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.hours.enums import OF_PEOPLE, OF_ROOMS, AbsenceKind
from clinic.hours.forms.fields import ClockField
from clinic.hours.models import Absence
from clinic.hours.queries import LISTED_FOR
from clinic.rooms.models import Room
from clinic.rooms.queries import named_apart
from clinic.staff.models import User

_DAY = timedelta(days=1)
LONGEST = timedelta(days=366)
"""As a closure. Common practice, no source."""


class AbsenceForm(AsksAboutBooked, SeenValuesForm):
    """Whose it is, a person or a room, is one field: "person-3" or "room-2"."""

    who = forms.ChoiceField(label="Who or which room")
    first_day = DayField(label="First day")
    first_time = ClockField(
        label="From", required=False, help_text="Empty: from the start of the day."
    )
    last_day = DayField(label="Last day")
    last_time = ClockField(label="Until", required=False, help_text="Empty: to the end of the day.")

    class Meta:
        model = Absence
        fields = ["kind", "note"]
        labels = {"kind": "Why"}

    def __init__(self, *args, instance, **kwargs):
        initial = {**_as_typed(instance), **(kwargs.pop("initial", None) or {})}
        super().__init__(*args, instance=instance, initial=initial, **kwargs)
        name_what_is_required(self)
        self._people = {f"person-{one.pk}": one for one in _people(instance)}
        self._rooms = {f"room-{one.pk}": one for one in _rooms(instance)}
        rooms = [(f"room-{pk}", name) for pk, name in named_apart(self._rooms.values())]
        self.fields["who"].choices = [
            ("", "Choose"),
            ("People", [(key, one.full_name) for key, one in self._people.items()]),
            *([("Rooms", rooms)] if rooms else []),
        ]  # fmt: skip
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            SEEN,
            Row("who", "kind"),
            Row("first_day", "first_time"),
            Row("last_day", "last_time"),
            "note",
            ASK,
        )
        self.helper.add_input(Submit("save", "Save absence"))

    def clean(self):
        cleaned = super().clean()
        who, first, last = (cleaned.get(name) for name in ("who", "first_day", "last_day"))
        if who:
            self.instance.person, self.instance.room = self._people.get(who), self._rooms.get(who)
            self._check_kind()
        if first and last and not self.errors.keys() & {"first_time", "last_time"}:
            self._set_span(first, last)
        return cleaned

    def _check_kind(self) -> None:
        kind, room = self.cleaned_data.get("kind"), self.instance.room
        known = OF_ROOMS if room else OF_PEOPLE
        if kind and kind not in known:
            names = " or ".join(f"“{one.label}”" for one in AbsenceKind if one in known)
            whose = "A room" if room else "A person"
            self.add_error("kind", f"{whose} is not away for this. Choose {names}.")

    def _set_span(self, first, last) -> None:
        starts_at = moment_at(first, self.cleaned_data.get("first_time") or time.min)
        last_time = self.cleaned_data.get("last_time")
        ends_at = moment_at(last, last_time) if last_time else moment_at(last + _DAY)
        if last < first:
            self.add_error("last_day", "The last day lies before the first day.")
        elif ends_at <= starts_at:
            self.add_error("last_time", "Type a time after the start.")
        elif last > first + LONGEST:
            words = "An absence lasts at most a year: check the year, or add the rest as another."
            self.add_error("last_day", words)
        elif last < timezone.localdate() - LISTED_FOR:
            self.add_error("last_day", "This day lies more than a year back. Check the year.")
        else:
            absence = self.instance
            absence.starts_at, absence.ends_at = starts_at, ends_at
            if absence.person or absence.room:
                self.ask_about_booked(TimeAway(starts_at, ends_at, absence.person, absence.room))


def _people(absence: Absence):
    """Whoever works, and whose absence it is already."""
    return User.objects.filter(Q(is_injector=True, is_active=True) | Q(pk=absence.person_id))


def _rooms(absence: Absence):
    in_use = Q(is_active=True, site__is_active=True)
    return Room.objects.select_related("site").filter(in_use | Q(pk=absence.room_id))


def _as_typed(absence: Absence) -> dict:
    """What a stored absence looks like in the form; empty for a new one."""
    if absence.pk is None:
        return {}
    names = ("first_day", "first_time", "last_day", "last_time")
    who = f"person-{absence.person_id}" if absence.person_id else f"room-{absence.room_id}"
    return {"who": who} | {name: getattr(absence, name) for name in names}
