from django.core.exceptions import ValidationError

from planning.gtin import GtinError, normalise_gtin
from planning.lot_numbers import LotNumberError, check_lot_number


def validate_gtin(text: str) -> None:
    """A GTIN of 8, 12, 13 or 14 digits whose check digit holds (GS1 General Specifications 7.9)."""
    try:
        normalise_gtin(text)
    except GtinError as error:
        raise ValidationError(str(error)) from error


def validate_lot_number(text: str) -> None:
    """One to twenty characters of GS1's character set 82 (GS1 General Specifications 3.4.1)."""
    try:
        check_lot_number(text)
    except LotNumberError as error:
        raise ValidationError(str(error)) from error
