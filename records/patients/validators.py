"""Rules about what is typed into a patient's record; each refusal says what to type."""

import re
import unicodedata
from datetime import date

import phonenumbers
from django.core.exceptions import ValidationError

from planning.ages import age_years
from planning.names import words
from records.patients.enums import Channel

OLDEST_YEARS = 120
# Slips of the keyboard (625 for 62.5), not a limit of treatment. Common practice, no source.
LIGHTEST_G, HEAVIEST_G = 20_000, 400_000
PERSONAL = phonenumbers.PhoneNumberType.FIXED_LINE_OR_MOBILE
PHONE_QUESTION = "Please read the telephone number back: it does not look complete."
_WEIGHT = re.compile(r"(?P<whole>[0-9]{1,3})(?:[.,](?P<part>[0-9]{1,3}))?\s*(?:kg)?", re.IGNORECASE)
CHANNEL_NEEDS = {
    Channel.PHONE: ("phone", "a telephone number"),
    Channel.SMS: ("phone", "a telephone number"),
    Channel.EMAIL: ("email", "an e-mail address"),
    Channel.LETTER: ("address", "an address"),
}


# Embeddings, overrides and isolates (Unicode Standard Annex 9): a copied name brings them along,
# and they turn round what stands beside it. Joiners stay: some scripts spell with them.
_TURNS_TEXT = re.compile("[\u202a-\u202e\u2066-\u2069]")


def written_name(typed: str) -> str:
    """The name as it is seen: one blank between words, no control characters or direction marks."""
    upright = _TURNS_TEXT.sub("", typed)
    seen = "".join(char for char in upright if char.isspace() or unicodedata.category(char) != "Cc")
    return " ".join(seen.split())


def check_full_name(full_name: str) -> None:
    """A name needs a letter or a digit: nothing else can be searched for."""
    if not words(full_name):
        raise ValidationError("Type the name with at least one letter.")


def check_birth_date(birth_date: date, *, today: date) -> None:
    """Before today, and not over 120 completed years ago."""
    if birth_date >= today:
        raise ValidationError("The date of birth must lie before today. Please check the year.")
    if age_years(birth_date, today) > OLDEST_YEARS:
        raise ValidationError(
            f"That would be over {OLDEST_YEARS} years ago. Please check the year."
        )


def parse_weight_g(text: str) -> int:
    """
    Grams from kilograms as typed: "62.5", "62,5", "62.5 kg".

    Raises:
        ValidationError: not a weight of 20 to 400 kg with at most three digits after the point.
    """
    match = _WEIGHT.fullmatch(text.strip())
    if match is None:
        raise ValidationError(
            f"“{text.strip()[:20]}” is not a weight: type kilograms, such as 62.5."
        )
    grams = int(match["whole"]) * 1000 + int((match["part"] or "").ljust(3, "0"))
    if not LIGHTEST_G <= grams <= HEAVIEST_G:
        raise ValidationError(
            f"Type a weight from {LIGHTEST_G // 1000} to {HEAVIEST_G // 1000} kg, such as 62.5."
        )
    return grams


def weight_kg(grams: int) -> str:
    """Kilograms as a form field shows them, exact: "62.5", "62"."""
    whole, part = divmod(grams, 1000)
    decimals = f"{part:03d}".rstrip("0")
    return f"{whole}.{decimals}" if decimals else str(whole)


def phone_doubt(text: str, *, region: str) -> str:
    """
    What to ask about a telephone number of a length that cannot be; empty if nothing is to ask.

    Only the length is judged: no list of numbers knows them all, and new ranges are given out. A
    number without its area code is asked about too: from elsewhere it reaches nobody.
    """
    if not text.strip():
        return ""
    try:
        number = phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        return PHONE_QUESTION
    # Of a person's telephone: service numbers would make far shorter ones possible.
    length = phonenumbers.is_possible_number_for_type_with_reason(number, PERSONAL)
    return "" if length == phonenumbers.ValidationResult.IS_POSSIBLE else PHONE_QUESTION


def missing_contact(channel: str, typed: dict[str, str]) -> tuple[str, str] | None:
    """The field that the preferred channel needs and that is empty, with what to say there."""
    field, thing = CHANNEL_NEEDS[Channel(channel)]
    if typed.get(field, "").strip():
        return None
    label = Channel(channel).label.lower()
    return field, f"To reach the patient by {label}, type {thing}, or choose another channel."
