from django.core.exceptions import ValidationError


def validate_open_weekdays(days: object) -> None:
    """Weekdays by ISO 8601 (1 is Monday), in order, each once, and at least one of them."""
    known = isinstance(days, list) and all(type(day) is int and 1 <= day <= 7 for day in days)
    if not known or days != sorted(set(days)):
        raise ValidationError("Weekdays are the numbers 1 (Monday) to 7 (Sunday), each once.")
    if not days:
        raise ValidationError("Choose at least one day on which the clinic is open.")
