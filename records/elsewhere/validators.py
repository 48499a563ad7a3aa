"""Rules about a day of which only a part may be known."""

from datetime import date

from django.core.exceptions import ValidationError

from planning.care import PartialDay, Precision


def partial_day(year: int | None, month: int | None, day: int | None) -> PartialDay:
    """
    The day as far as it was typed; nothing typed is a day not known.

    Raises:
        ValidationError: a day without its month, a month without its year, or no such day.
    """
    if year is None:
        if month or day:
            raise ValidationError("Type the year as well, or leave all three empty.")
        return PartialDay(None, Precision.UNKNOWN)
    if month is None and day:
        raise ValidationError("Choose the month as well, or leave the day empty.")
    try:
        first = date(year, month or 1, day or 1)
    except ValueError as error:
        raise ValidationError("There is no such day. Check day, month and year.") from error
    if day:
        return PartialDay(first)
    return PartialDay(first, Precision.MONTH if month else Precision.YEAR)
