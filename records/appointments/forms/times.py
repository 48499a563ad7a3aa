"""A time that fits, or one of one's own: what booking and moving ask alike."""

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import cast

from django import forms
from django.core.exceptions import ValidationError
from django.forms.utils import from_current_timezone
from django.utils import timezone

from clinic.database.form_fields import DayField
from clinic.hours.queries import read_hours, room_why_not, why_not
from clinic.policy.queries import OPENING, current_policy, open_days
from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.visit_kinds.models import STEP_MINUTES, VisitKind
from planning.booking_advice import Advice
from planning.review_dates import OpenDays, day_in_words
from records.appointments.models import Appointment
from records.appointments.queries.day import day_advice, midnight_advice, practitioners
from records.appointments.queries.slots import Wanted, room_that_suits, who_is_free

MINUTES = [5, 10, 15, 20, 30, 45, 60, 75, 90, 120, 180, 240]
LENGTHS = [("", "As usual"), *((count, f"{count} min") for count in MINUTES)]
OWN_TIME = "own"
WHOEVER_IS_FREE = "Whoever is free"
KIND_SOURCE = "Clinic policy: kinds of visit"
_SLOT = re.compile(
    r"(\d{4}-\d{2}-\d{2})T(\d{2}:\d{2})\|([1-9]\d{0,17})\|([1-9]\d{0,17})?", re.ASCII
)


class RoomField(forms.ModelChoiceField):
    """A room by its site and name."""

    def label_from_instance(self, room: Room) -> str:
        return f"{room.site}, {room}"


class TimeChoiceForm(forms.Form):
    """
    The time of `instance`: one of those that fit (`slot`), or day, start, practitioner and room.

    A day on which the clinic is closed or has passed, a time outside of the practitioner's hours
    and a room that does not suit are asked about once: the box names what it was ticked for.
    """

    practitioner = forms.ModelChoiceField(
        practitioners(),
        required=False,
        empty_label=WHOEVER_IS_FREE,
        error_messages={
            "invalid_choice": "That person does not see patients now. Choose somebody else."
        },
    )
    minutes = forms.TypedChoiceField(
        label="Length",
        coerce=int,
        empty_value=None,
        required=False,
        choices=LENGTHS,
    )
    slot = forms.CharField(required=False)
    day = DayField(label="Day", required=False)
    start = forms.TimeField(
        label="Start",
        required=False,
        widget=forms.TimeInput(format="%H:%M", attrs={"type": "time", "step": STEP_MINUTES * 60}),
    )
    room = RoomField(
        Room.objects.in_use().select_related("site"), required=False, empty_label="One that suits"
    )
    confirmed = forms.CharField(required=False)

    # What the form does, as its box says it: "book it all the same".
    ACT = "book"
    # So long after its start a time is still the present one.
    NOW = timedelta(minutes=15)

    def __init__(self, *args, instance: Appointment, back: str, is_here: bool = False, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance, self.back, self.is_here = instance, back, is_here
        self.asks: list[Advice] = []
        self.later_asks: list[Advice] = []
        self.to_confirm = ""

    @property
    def visit_kind(self) -> VisitKind:
        """What the clinic decided for the kind that is booked. Given by each form."""
        raise NotImplementedError

    def clean(self) -> dict:
        super().clean()
        typed = self.cleaned_data.get("slot")
        if typed and typed != OWN_TIME and not self.is_here:
            self._take_slot(typed)
        self._need_own_time()
        day, start = self.cleaned_data.get("day"), self.cleaned_data.get("start")
        if self.errors or day is None or start is None:
            return self.cleaned_data
        if self.is_here and day != timezone.localdate():
            self.add_error("day", "Who walks in is here today. For another day, press Book.")
            return self.cleaned_data
        if start.minute % STEP_MINUTES or start.second:
            self.add_error("start", f"Times lie on {STEP_MINUTES} minutes, such as 10:15.")
            return self.cleaned_data
        try:
            starts_at = from_current_timezone(datetime.combine(day, start))
        except ValidationError:
            self.add_error("start", "The clocks change in that hour: choose another time.")
            return self.cleaned_data
        if not self.cleaned_data.get("practitioner"):
            self._take_whoever_is_free(starts_at.astimezone(UTC))
        if not self.errors:
            self.fill(starts_at.astimezone(UTC))
            self._ask(day, start)
        return self.cleaned_data

    def _take_whoever_is_free(self, starts_at: datetime) -> None:
        kind, today = self.visit_kind, timezone.localdate()
        wanted = Wanted(
            kind=kind,
            first=today,
            last=timezone.localdate(starts_at),
            minutes=self.cleaned_data.get("minutes"),
            patient=self.instance.patient,
        )
        fit = who_is_free(wanted, starts_at)
        if fit is None:
            self.add_error("practitioner", "Nobody is free then. Choose who it is with.")
            return
        self.cleaned_data["practitioner"] = fit.practitioner
        self.cleaned_data["room"] = self.cleaned_data.get("room") or fit.room

    def _take_slot(self, typed: str) -> None:
        """The chosen time stands for day, start, practitioner and room."""
        found = _SLOT.fullmatch(typed)
        try:
            if found is None:
                raise ValueError
            self.cleaned_data["day"] = date.fromisoformat(found[1])
            self.cleaned_data["start"] = time.fromisoformat(found[2])
            self.cleaned_data["practitioner"] = practitioners().get(pk=found[3])
            rooms = Room.objects.in_use().select_related("site")
            self.cleaned_data["room"] = rooms.get(pk=found[4]) if found[4] else None
        except (ValueError, practitioners().model.DoesNotExist, Room.DoesNotExist):
            self.add_error("slot", "That time is no longer offered. Choose another one.")

    def _need_own_time(self) -> None:
        if self.errors:
            return
        needed = {"day": "a day", "start": "a time"}
        for name, words in needed.items():
            if not self.cleaned_data.get(name):
                self.add_error(name, f"Choose {words}, or one of the times that fit.")

    def fill(self, starts_at: datetime) -> None:
        """Put time and place into the instance, unsaved."""
        kind, one = self.visit_kind, self.instance
        one.starts_at, one.practitioner = starts_at, self.cleaned_data["practitioner"]
        one.minutes = self.cleaned_data.get("minutes") or kind.minutes
        one.preparation_minutes = kind.preparation_minutes
        one.buffer_minutes = kind.buffer_minutes
        one.room = self.cleaned_data.get("room") or room_that_suits(one, kind)

    def offer_length(self, minutes: int) -> None:
        """Let a length be chosen that is not among the usual ones."""
        if minutes not in MINUTES:
            field = cast(forms.TypedChoiceField, self.fields["minutes"])
            field.choices = [*LENGTHS, (minutes, f"{minutes} min")]

    def later(self) -> list[Appointment]:
        """Further appointments of the same booking, unsaved."""
        return []

    def _ask(self, day: date, start: time) -> None:
        """What is asked about once; the box says for what it was ticked."""
        one = self.instance
        today, later = timezone.localdate(), self.later()
        days = open_days(current_policy(only=OPENING), on_or_after=day)
        away = _away(one, days) if days.is_open(day) else ()
        odd = [*midnight_advice(one.starts_at, one.minutes), *away, *self._room_doubts()]
        if day == today and one.starts_at < timezone.now() - self.NOW and not self.is_here:
            odd.append(Advice("caution", "That time has passed", "", "The clock"))
        self.later_asks = [advice for each in later for advice in closed_or_away(each)]
        odd += self.later_asks
        self.asks = [*day_advice(day, days, today=today), *odd]
        about = f"{day} {start:%H:%M} {one.minutes} {one.practitioner_id}"
        if later:
            about += f" {len(later)} {timezone.localdate(later[-1].starts_at)}"
        self.to_confirm = about if odd else f"{day}"
        if self.asks and self.cleaned_data.get("confirmed") != self.to_confirm:
            self.add_error(
                "confirmed", f"Tick the box to {self.ACT} it all the same, or change it."
            )

    def _room_doubts(self) -> Iterator[Advice]:
        one, kind = self.instance, self.visit_kind
        suits = [] if kind._state.adding else list(kind.rooms.all())
        if not suits:
            return
        if one.room is None:
            title = f"No room that suits a {kind.get_kind_display().lower()} is free then"
            yield Advice("caution", title, "It would be booked without one.", KIND_SOURCE)
        elif one.room not in suits:
            title = f"{one.room} is not among the rooms for this kind of visit"
            yield Advice("caution", title, "", KIND_SOURCE)


def closed_or_away(later: Appointment) -> Iterator[Advice]:
    """What is asked of a later appointment of a series."""
    day = timezone.localdate(later.starts_at)
    days = open_days(current_policy(), on_or_after=day)
    if not days.is_open(day):
        yield Advice(
            "caution",
            f"A later one: {days.closed_in_words(day)}",
            "",
            "Clinic policy: opening days and closures",
        )
    elif reason := why_not(later.practitioner, later.starts_at, later.ends_at):
        title = f"A later one, {day_in_words(day)}: {later.practitioner}: {reason}"
        yield Advice("caution", title, "", "Working hours")


def _away(one: Appointment, days: OpenDays) -> Iterator[Advice]:
    """Whether the practitioner is not at work, or not there, or the room not in order then."""
    person = one.practitioner
    first, last = (timezone.localdate(moment) for moment in (one.starts_at, one.ends_at))
    hours = read_hours([person], first, last, days=days)
    if reason := hours.why_not(person.pk, one.starts_at, one.ends_at):
        yield Advice("caution", f"{person}: {reason}", "", "Working hours")
    works_at = hours.site_at(person.pk, one.starts_at)
    if one.room and works_at not in (None, one.room.site_id):
        site = Site.objects.get(pk=works_at)
        title = f"{person} is at {site} then, not at {one.room.site}"
        yield Advice("caution", title, "", "Working hours")
    if one.room and (reason := room_why_not(one.room, one.starts_at, one.ends_at)):
        yield Advice("caution", f"{one.room}: {reason}", "", "Absences")
