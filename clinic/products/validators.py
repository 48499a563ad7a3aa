from django.core.exceptions import ValidationError

from planning.gtin import GtinError, normalise_gtin


def validate_gtin(text: str) -> None:
    """A GTIN of 8, 12, 13 or 14 digits whose check digit holds (GS1 General Specifications 7.9)."""
    try:
        normalise_gtin(text)
    except GtinError as error:
        raise ValidationError(str(error)) from error
