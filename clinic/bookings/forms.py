"""Asks once before time is taken away in which visits are booked."""

from django import forms

from clinic.bookings.registry import Booked, TimeAway, booked_in


class AsksAboutBooked(forms.ModelForm):
    """
    A form that takes time away. Where visits are booked then, it names them and asks for a tick:
    the box carries the span it was ticked for. Shown by templates/bookings/_ask.html.
    """

    confirmed = forms.CharField(required=False)

    def __init__(self, *args, **kwargs) -> None:
        # `SeenValuesForm` compares each field with what it was to begin with.
        kwargs["initial"] = {"confirmed": "", **(kwargs.get("initial") or {})}
        super().__init__(*args, **kwargs)
        self.booked = Booked()
        self.to_confirm = ""

    def ask_about_booked(self, time: TimeAway) -> None:
        """To be called by `clean` once the span is known."""
        self.booked = booked_in(time)
        whose = time.person or time.room
        self.to_confirm = f"{time.starts_at:%Y-%m-%d %H:%M} {time.ends_at:%Y-%m-%d %H:%M} {whose}"
        if self.booked.count and self.cleaned_data.get("confirmed") != self.to_confirm:
            self.add_error("confirmed", "Tick the box to save it all the same, or change the days.")
