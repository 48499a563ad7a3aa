from django.core.exceptions import ValidationError

from planning.lot_numbers import LotNumberError, check_serial_number


def validate_serial_number(text: str) -> None:
    """One to twenty characters of GS1's character set 82 (GS1 General Specifications 3.5.2)."""
    try:
        check_serial_number(text)
    except LotNumberError as error:
        raise ValidationError(str(error)) from error
