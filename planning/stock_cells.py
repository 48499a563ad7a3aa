"""
The cells of an opening stock list: one function for each kind of value, text in, value out.

Each raises `CellError` with what to do, in words that follow "Column “value”: ".
"""

from __future__ import annotations

import re
from datetime import date

from planning.gtin import GtinError, normalise_gtin
from planning.lot_numbers import LotNumberError, check_lot_number, check_serial_number

DATE_FORMS = "type YYYY-MM-DD or, day first, DD/MM/YYYY"
LONGEST_WORDS = 200
_ISO = re.compile(r"(?P<year>[0-9]{4})-(?P<month>[0-9]{2})-(?P<day>[0-9]{2})(?:[ T]00:00(?::00)?)?")
_DAY_FIRST = re.compile(r"(?P<day>[0-9]{1,2})/(?P<month>[0-9]{1,2})/(?P<year>[0-9]{4})")
# Years that a pack can mean; anything else is a slip of the finger.
_FIRST_YEAR, _LAST_YEAR = 2000, 2099
# "9.52E+12" is what a spreadsheet makes of a long number; its last digits are lost.
_SHORTENED = re.compile(r"[0-9](?:[.,][0-9]+)?E\+[0-9]+", re.IGNORECASE)


class CellError(ValueError):
    """A cell that does not hold what its column asks for; the message says what to do."""


def read_words(text: str) -> str:
    """A name or place: printable, at most 200 characters, line ends as blanks."""
    words = " ".join(text.split())
    if len(words) > LONGEST_WORDS:
        raise CellError(f"it is longer than {LONGEST_WORDS} characters.")
    if not words.isprintable():
        raise CellError("it holds a sign that cannot be seen: type it again.")
    return words


def read_gtin(text: str) -> str:
    """The fourteen digits."""
    _refuse_what_a_spreadsheet_made(text)
    try:
        return normalise_gtin(text)
    except GtinError as error:
        raise CellError(_following(str(error))) from error


def read_code(text: str, what: str) -> str:
    """A lot ("lot") or serial number ("serial") exactly as given."""
    _refuse_what_a_spreadsheet_made(text)
    try:
        return check_lot_number(text) if what == "lot" else check_serial_number(text)
    except LotNumberError as error:
        raise CellError(_following(str(error))) from error


def read_date(text: str) -> date:
    """A day written in one of the two forms, in the years 2000 to 2099."""
    match = _ISO.fullmatch(text) or _DAY_FIRST.fullmatch(text)
    if match is None:
        raise CellError(f"{DATE_FORMS}.")
    if is_month_first(text):
        raise CellError(f"there is no month {int(match['month'])}: {DATE_FORMS}.")
    try:
        day = date(int(match["year"]), int(match["month"]), int(match["day"]))
    except ValueError as error:
        raise CellError(f"this day does not exist: {DATE_FORMS}.") from error
    if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        raise CellError(f"compare the year with the box: {DATE_FORMS}.")
    return day


def is_month_first(text: str) -> bool:
    """Whether a date with “/” can only have been written month first: 02/31/2027."""
    match = _DAY_FIRST.fullmatch(text)
    return match is not None and int(match["month"]) > 12 >= int(match["day"]) > 0


def read_quantity(text: str, most: int) -> int:
    """Whole units from 1 to `most`."""
    asks = f"type the number of units as a whole number from 1 to {most}."
    if not (text.isascii() and text.isdigit()) or len(text) > 9:
        raise CellError(asks)
    quantity = int(text)
    if not 1 <= quantity <= most:
        raise CellError(asks)
    return quantity


def _refuse_what_a_spreadsheet_made(text: str) -> None:
    if text.startswith('="'):
        raise CellError("this is a formula: type what is printed on the box.")
    if _SHORTENED.fullmatch(text):
        raise CellError(
            "the spreadsheet has shortened this number: format the column as text and type it anew."
        )


def _following(sentence: str) -> str:
    """A sentence to stand behind a colon."""
    return sentence[0].lower() + sentence[1:]
