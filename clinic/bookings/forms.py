"""Asks once before time is taken away in which visits are booked."""

from collections.abc import Callable
from hashlib import sha256

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML
from django import forms
from django.db import transaction
from django.db.models import Model

from clinic.bookings.registry import Booked, TimeAway, booked_in, listed, stranded

ASK = HTML('{% include "bookings/_ask.html" %}')
"""For the layout of the form."""


class AsksAboutBooked(forms.Form):
    """
    A form that takes time away. Where visits are booked then, it names them and asks for a tick:
    the box carries what it was ticked for. Shown by templates/bookings/_ask.html.

    Attributes:
        taking_away: the fields by which time goes; looking is dear where none of them changed.
    """

    helper: FormHelper
    taking_away: frozenset[str] = frozenset()
    confirmed = forms.CharField(required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.booked = Booked()
        self.to_confirm = ""

    def ask_about_booked(self, time: TimeAway) -> None:
        """To be called by `clean` once the span is known."""
        whose = time.person or time.room
        span = f"{time.starts_at:%Y-%m-%d %H:%M} {time.ends_at:%Y-%m-%d %H:%M}"
        self._ask(booked_in(time), f"{span} {whose}", "change the days")

    def goes_through(self, act: Callable[[], object], *, whose: Model | None = None) -> bool:
        """
        Do `act`, which stores what the form says, unless visits (of a person, in a room, or any)
        would then have to be moved that nobody ticked for. In that case nothing is stored.
        """
        if self.taking_away and not self.taking_away & {*self.changed_data}:
            act()
            return True
        with transaction.atomic():
            before = stranded(whose)
            act()
            left = sorted(stranded(whose) - before)
            digest = sha256(repr(left).encode()).hexdigest()
            if self._ask(listed(left), f"{len(left)} {digest[:16]}", "move the visits first"):
                transaction.set_rollback(True)
                return False
        return True

    def _ask(self, booked: Booked, to_confirm: str, otherwise: str) -> bool:
        """Whether a tick is missing."""
        self.booked, self.to_confirm = booked, to_confirm
        is_missing = bool(booked.count) and self.cleaned_data.get("confirmed") != to_confirm
        if is_missing:
            self.add_error("confirmed", f"Tick the box to save it all the same, or {otherwise}.")
            if self.errors.keys() == {"confirmed"}:
                self.helper.form_error_title = "Not saved yet: visits are in the way, see below."
        return is_missing
