"""
Single cells of a former record: text in, value out.

Each raises `CellError` with what to do, in words that follow the column's name.

Sources: ISO 8601 for days written year first; ISO/IEC 5218 for sexes written as digits (from
memory); the rest is common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from planning.amounts import AmountError, parse_amount
from planning.imports.columns import DateOrder
from planning.names import fold
from planning.stock_cells import CellError
from planning.vocabulary import Measure

MOST_OF_A_PHONE = 40
# "4.47912E+11" is what a spreadsheet makes of a long number: its last digits are lost.
_SHORTENED = re.compile(r"[+-]?[0-9](?:[.,][0-9]+)?E\+?[0-9]+", re.IGNORECASE)
_TIME = r"(?:[ T][0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?)?"
_A, _B, _YEAR = r"(?P<a>[0-9]{1,2})", r"(?P<b>[0-9]{1,2})", r"(?P<year>[0-9]{4})"
_YEAR_FIRST = re.compile(rf"{_YEAR}(?P<m>[-./]){_A}(?P=m){_B}{_TIME}")
_YEAR_LAST = re.compile(rf"{_A}(?P<m>[-./ ]){_B}(?P=m){_YEAR}{_TIME}")
_SHORT_YEAR = re.compile(rf"{_A}(?P<m>[-./ ]){_B}(?P=m)[0-9]{{2}}{_TIME}")
_MONTH_NAMED = re.compile(rf"{_A}[-. ]+(?P<month>[a-z]{{3,9}})[-., ]+{_YEAR}{_TIME}", re.IGNORECASE)
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
_EXAMPLES = "write it like 1980-05-17 or 17/05/1980"
_NO_SUCH_DAY = f"there is no such day: {_EXAMPLES}."
_PHONE_SIGNS = re.compile(r"[0-9+()./\- xX#]+")
_EMAIL = re.compile(r"[^@\s<>\"']+@[^@\s<>\"']+\.[^@\s<>\"'.]{2,}")
_SEXES = {
    "female": ("f", "female", "woman", "w", "weiblich", "frau", "femme", "mujer", "2"),
    "male": ("m", "male", "man", "maennlich", "mannlich", "mann", "homme", "hombre", "h", "1"),
    "other": ("x", "d", "other", "diverse", "divers", "non binary", "nonbinary"),
    "not_stated": ("", "u", "unknown", "not stated", "not known", "n a", "0", "9"),
}
_NOTHING = frozenset({"", "none", "no", "nil", "n a", "nka", "nkda", "none known", "keine"})


def read_text(text: str, longest: int) -> str:
    """Words on one line, at most so long, and nothing that cannot be seen."""
    words = " ".join(text.split())
    if len(words) > longest:
        raise CellError(f"it is longer than {longest} characters.")
    if not words.isprintable():
        raise CellError("it holds a sign that cannot be seen: type it again.")
    return words


def read_day(text: str, order: DateOrder | None) -> date:
    """
    A day, written year first, with the month's English name, or in the order that is stated.

    Without one (None) only what can be read in one way is: no file may be read by a guess.
    """
    if match := _YEAR_FIRST.fullmatch(text):
        return _day(match["year"], match["a"], match["b"])
    if match := _MONTH_NAMED.fullmatch(text):
        month = _month_named(match["month"])
        return _day(match["year"], str(month), match["a"])
    if match := _YEAR_LAST.fullmatch(text):
        return _year_last(match, order)
    if _SHORT_YEAR.fullmatch(text):
        raise CellError(f"the year needs four digits: {_EXAMPLES}.")
    if text.isdigit():
        raise CellError(
            f"this is a number and no day: format the column as a date, or {_EXAMPLES}."
        )
    raise CellError(f"this is no day that can be read: {_EXAMPLES}.")


def _year_last(match: re.Match[str], order: DateOrder | None) -> date:
    first, second = int(match["a"]), int(match["b"])
    if order is None and first <= 12 and second <= 12 and first != second:
        raise CellError(f"day and month can be told apart in no way: {_EXAMPLES}.")
    if order is None:
        order = DateOrder.MONTH_FIRST if second > 12 else DateOrder.DAY_FIRST
    if order is DateOrder.MONTH_FIRST:
        if first > 12:
            raise CellError(f"there is no month {first}, and the month stands first in this file.")
        return _day(match["year"], match["a"], match["b"])
    if second > 12:
        raise CellError(f"there is no month {second}, and the day stands first in this file.")
    return _day(match["year"], match["b"], match["a"])


def _month_named(name: str) -> int:
    wanted = name.lower()
    found = [number for number, month in enumerate(_MONTHS, 1) if month.startswith(wanted)]
    if wanted == "sept":
        return 9
    if len(found) != 1:
        raise CellError(f"there is no month “{name}”: {_EXAMPLES}.")
    return found[0]


def _day(year: str, month: str, day: str) -> date:
    try:
        return date(int(year), int(month), int(day))
    except ValueError as error:
        raise CellError(_NO_SUCH_DAY) from error


def orders_in(texts: Iterable[str]) -> tuple[frozenset[DateOrder], bool]:
    """
    Which orders the days of a column show beyond doubt, and whether any can be read both ways.

    Only days with the year last say anything; any other is the same in both orders.
    """
    shown, is_open = set(), False
    for text in texts:
        if match := _YEAR_LAST.fullmatch(text):
            first, second = int(match["a"]), int(match["b"])
            if first > 12 >= second:
                shown.add(DateOrder.DAY_FIRST)
            elif second > 12 >= first:
                shown.add(DateOrder.MONTH_FIRST)
            else:
                is_open = is_open or first != second
    return frozenset(shown), is_open


def read_sex(text: str) -> str:
    """The key of `records.patients.enums.Sex`."""
    said = fold(text)
    for key, words in _SEXES.items():
        if said in words:
            return key
    raise CellError("write female, male or other, or leave it empty.")


def read_phone(text: str) -> str:
    """A telephone number as it is written."""
    if _SHORTENED.fullmatch(text):
        raise CellError(
            "the spreadsheet has shortened this number: format the column as text and type it anew."
        )
    phone = " ".join(text.split())
    if len(phone) > MOST_OF_A_PHONE:
        raise CellError(f"it is longer than {MOST_OF_A_PHONE} characters: keep one number.")
    if not _PHONE_SIGNS.fullmatch(phone) or not any(sign.isdecimal() for sign in phone):
        raise CellError("this is no telephone number: keep digits, blanks and + ( ) - / alone.")
    return phone


def read_email(text: str) -> str:
    """One address. Whether it can be written to is asked of the patient, not of a file."""
    if len(text) > 254 or not _EMAIL.fullmatch(text):
        raise CellError("this is no e-mail address: keep one, such as name@example.org.")
    return text


def read_code(text: str, longest: int) -> str:
    """A number that names something (a patient, a lot), as written; never a shortened one."""
    if _SHORTENED.fullmatch(text):
        raise CellError(
            "the spreadsheet has shortened this number: format the column as text and type it anew."
        )
    return read_text(text, longest)


def read_given(text: str, default: Measure | None) -> tuple[int, Measure]:
    """
    An amount in the base unit and its measure, which its unit tells, or else the file's own.

    It is kept as the former record has it and added to nothing.
    """
    if not any(sign.isalpha() for sign in text):
        if default is None:
            raise CellError("it says neither mL nor units: write such as 0.5 mL or 20 units.")
        return _amount(text, default), default
    for measure in Measure:
        try:
            return parse_amount(text, measure), measure
        except AmountError:
            continue
    raise CellError("this is no amount: write such as 0.5 mL or 20 units.")


def _amount(text: str, measure: Measure) -> int:
    try:
        return parse_amount(text, measure)
    except AmountError as error:
        message = str(error)
        raise CellError(message[0].lower() + message[1:]) from error


def says_nothing(text: str) -> bool:
    """Whether a cell about allergies or warnings says that there are none."""
    return fold(text) in _NOTHING
