import re

from django.core.exceptions import ValidationError


def validate_open_weekdays(days: object) -> None:
    """Weekdays by ISO 8601 (1 is Monday), in order, each once, and at least one of them."""
    if not isinstance(days, list) or any(type(day) is not int for day in days):
        raise ValidationError("Weekdays are whole numbers.")
    if days != sorted({*days} & {*range(1, 8)}):
        raise ValidationError("Weekdays are the numbers 1 (Monday) to 7 (Sunday), each once.")
    if not days:
        raise ValidationError("Choose at least one day on which the clinic is open.")


def validate_currency(code: str) -> None:
    """Three capital letters, as ISO 4217 has them; which of them are money nobody checks."""
    if not re.fullmatch("[A-Z]{3}", code):
        raise ValidationError("Type the three letters of the currency, such as EUR.")
