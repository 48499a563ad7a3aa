"""The field that asks for a time."""

from django import forms

from clinic.visit_kinds.models import STEP_MINUTES


class ClockField(forms.TimeField):
    """A time of the clinic's clock on the marks of the diary."""

    default_error_messages = {"invalid": "Type the time as 09:30."}

    def __init__(self, **options) -> None:
        widget = forms.TimeInput(format="%H:%M", attrs={"type": "time", "step": STEP_MINUTES * 60})
        super().__init__(widget=widget, **options)

    def clean(self, value):
        clock = super().clean(value)
        if clock and (clock.minute % STEP_MINUTES or clock.second):
            raise forms.ValidationError(f"Times lie on {STEP_MINUTES} minutes, such as 09:05.")
        return clock
