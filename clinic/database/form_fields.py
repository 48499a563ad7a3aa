"""Form fields that more than one capability asks with."""

from datetime import date

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator


class DayField(forms.DateField):
    """A day as browsers send it; beyond 1900 to 2999 nobody means it and reckoning overflows."""

    default_validators = [
        MinValueValidator(date(1900, 1, 1)),
        MaxValueValidator(date(2999, 12, 31)),
    ]

    def __init__(self, **options) -> None:
        day = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
        super().__init__(**{"widget": day} | options)
