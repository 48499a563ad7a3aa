"""Form fields, and their wording, that more than one capability asks with."""

from datetime import date

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.utils import timezone

from planning.scan import Scan, read_scan
from planning.temperatures import TemperatureError, parse_temperature, plain_temperature

_FIRST, _LAST = date(1900, 1, 1), date(2999, 12, 31)
_MOMENTS = ["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M", "%d.%m.%Y %H:%M", "%d/%m/%Y %H:%M"]
_YEARS = f"Type a year from {_FIRST.year} to {_LAST.year}."


def name_what_is_required(form: forms.BaseForm) -> None:
    """An empty field says "Date of birth is required.", so that it can be found from the words."""
    for name, field in form.fields.items():
        label = field.label or name.replace("_", " ").capitalize()
        field.error_messages["required"] = f"{label[:1].upper()}{label[1:]} is required."


class DayField(forms.DateField):
    """A day as browsers send it; beyond 1900 to 2999 nobody means it and reckoning overflows."""

    default_validators = [MinValueValidator(_FIRST, _YEARS), MaxValueValidator(_LAST, _YEARS)]
    default_error_messages = {"invalid": "Type the day as 31/12/2026 or 2026-12-31."}

    def __init__(self, **options) -> None:
        options.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        # Else the language's own list holds, with years of two digits.
        options.setdefault("input_formats", settings.DATE_INPUT_FORMATS)
        super().__init__(**options)


class PhoneField(forms.CharField):
    """A telephone number of the clinic, with words beside it if need be."""

    default_validators = [
        RegexValidator(r"(\d\D*){3}", "Type a telephone number, such as 020 7946 0123.")
    ]


class ScanField(forms.Field):
    """
    What a scanner sent or a person typed: cleaned to the `Scan`, refused in its words.

    No CharField, which trims the separator and refuses signs in words of its own. Empty is None
    where the field is not required. Shown by templates/scanning/_field.html.
    """

    def to_python(self, value: str | None) -> Scan | None:
        text = value or ""
        if not text.strip() and not self.required:
            return None
        scan = read_scan(text, today=timezone.localdate())
        if scan.error:
            raise ValidationError(scan.error)
        return scan


class MomentField(forms.DateTimeField):
    """A day and a time by the clinic's clock, as browsers send them."""

    default_error_messages = {"invalid": "Type day and time as 31/12/2026 14:30."}

    def __init__(self, **options) -> None:
        options.setdefault(
            "widget", forms.DateTimeInput(format=_MOMENTS[0], attrs={"type": "datetime-local"})
        )
        options.setdefault("input_formats", _MOMENTS)
        super().__init__(**options)


class TemperatureField(forms.Field):
    """A temperature typed in °C; its value is whole tenths of a degree, or None where empty."""

    def __init__(self, **options) -> None:
        options.setdefault(
            "widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        )
        super().__init__(**options)

    def to_python(self, value):
        if isinstance(value, int) or value in self.empty_values:
            return value if isinstance(value, int) else None
        try:
            return parse_temperature(value)
        except TemperatureError as error:
            raise ValidationError(str(error)) from error

    def prepare_value(self, value):
        return plain_temperature(value) if isinstance(value, int) else value


def say_bounds(form: forms.ModelForm) -> None:
    """Each whole number of the form says from where to where it goes, as its model has it."""
    for name, field in form.fields.items():
        if not isinstance(field, forms.IntegerField):
            continue
        validators = form._meta.model._meta.get_field(name).validators
        least = max(rule.limit_value for rule in validators if isinstance(rule, MinValueValidator))
        most = min(rule.limit_value for rule in validators if isinstance(rule, MaxValueValidator))
        words = f"Type a whole number from {least:,} to {most:,}."
        field.error_messages |= dict.fromkeys(("invalid", "min_value", "max_value"), words)
