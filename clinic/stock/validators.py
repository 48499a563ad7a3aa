from datetime import date

from django.core.exceptions import ValidationError
from django.utils import timezone

from planning.lot_numbers import LotNumberError, check_lot_number

# Common practice, no source: what clinics inject is kept for a few years at most.
FARTHEST_YEARS = 10
MOST_AT_ONCE = 500  # more than one delivery holds; a slip of the keyboard otherwise


def validate_lot_number(text: str) -> None:
    """One to twenty characters of GS1's character set 82 (GS1 General Specifications 3.4.1)."""
    try:
        check_lot_number(text)
    except LotNumberError as error:
        raise ValidationError(str(error)) from error


def validate_expiry(day: date) -> None:
    """A year that somebody can have meant: 0028 and 3028 are slips of the finger."""
    if abs(day.year - timezone.localdate().year) > FARTHEST_YEARS:
        raise ValidationError(
            f"The expiry is more than {FARTHEST_YEARS} years away. Compare the year with the box."
        )
