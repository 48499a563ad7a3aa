import re

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from planning.vocabulary import Measure

AMOUNT_FIELDS = {
    "toxin_ceiling_centiunits": Measure.DOSE,
    "toxin_session_centiunits": Measure.DOSE,
    "filler_ul_per_60_kg_year": Measure.VOLUME,
    "filler_session_ul": Measure.VOLUME,
}
"""The policy's amounts, typed and told in mL and units."""
MOST_ADDRESSES = 10


def addresses_in(text: str) -> list[str]:
    """E-mail addresses between commas, semicolons, blanks and line ends, each once."""
    return list(dict.fromkeys(part for part in re.split(r"[,;\s]+", text) if part))


def validate_addresses(text: str) -> None:
    found = addresses_in(text)
    if len(found) > MOST_ADDRESSES:
        raise ValidationError(f"At most {MOST_ADDRESSES} addresses.")
    for address in found:
        try:
            validate_email(address)
        except ValidationError as error:
            raise ValidationError(f"“{address[:60]}” is no e-mail address.") from error


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
