"""
Amounts as people read and type them, and as the record keeps them.

Kept as integers of the base unit: microlitres for a volume, hundredths of a unit ("centiunits") for
a dose. Shown with a leading zero, no trailing zero, a comma in thousands and the unit in full.

Sources: Joint Commission, official Do Not Use list, 2018; ISMP list of error-prone designations
(`DO_NOT_USE_LIST`, `ERROR_PRONE_LIST`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from planning.vocabulary import Measure

NO_BREAK_SPACE = "\u00a0"
# A slip on the keyboard, not a limit: no vial or syringe holds a thousandth of this.
LARGEST_WHOLE = 100_000
LONGEST_TEXT = 40


class AmountError(ValueError):
    """What was typed is not an amount; the message says what to type."""


class LossyAmountError(TypeError):
    """A float, or another value that is not exact, was given where an integer or text is needed."""


@dataclass(frozen=True, slots=True)
class _Notation:
    """
    How one measure is written. `digits` is the number of decimal places the base unit can hold.
    """

    digits: int
    one: str
    many: str
    example: str
    spellings: frozenset[str]

    @property
    def scale(self) -> int:
        return int(10**self.digits)


_NOTATIONS = {
    Measure.VOLUME: _Notation(
        3,
        "mL",
        "mL",
        "0.2",
        frozenset({"ml", "cc", "millilitre", "millilitres", "milliliter", "milliliters"}),
    ),
    Measure.DOSE: _Notation(
        2, "unit", "units", "4 or 2.5", frozenset({"unit", "units", "u", "iu"})
    ),
}
_NUMBER_AND_UNIT = re.compile(r"(?P<number>[^a-z]*?)\s*(?P<unit>[a-z]*)", re.IGNORECASE)
_NUMBER = re.compile(r"(?P<whole>0|[1-9][0-9]*)?(?:(?P<mark>[.,])(?P<part>[0-9]+))?")


def plain_number(amount: int, measure: Measure) -> str:
    """The number alone, as a form field shows it: no unit, no thousands comma. "0.2", "1000"."""
    notation = _NOTATIONS[measure]
    whole, part = divmod(abs(_exact(amount)), notation.scale)
    decimals = f"{part:0{notation.digits}d}".rstrip("0")
    return f"{'-' if amount < 0 else ''}{whole}{'.' if decimals else ''}{decimals}"


def unit_of(measure: Measure) -> str:
    """The word beside a scale or a column: "mL", "units"."""
    return _NOTATIONS[measure].many


def format_amount(amount: int, measure: Measure, *, no_break: bool = False) -> str:
    """
    "0.2 mL", "4 units", "1 unit", "1,000 units"; a negative difference with a minus sign.

    Args:
        amount: microlitres or centiunits, by the measure.
        no_break: a no-break space before the unit, so that a line never ends between the two.

    Raises:
        LossyAmountError: the amount is not an integer.
    """
    notation = _NOTATIONS[measure]
    whole, mark, part = plain_number(abs(_exact(amount)), measure).partition(".")
    unit = notation.one if abs(amount) == notation.scale else notation.many
    sign = "\u2212" if amount < 0 else ""
    space = NO_BREAK_SPACE if no_break else " "
    return f"{sign}{int(whole):,}{mark}{part}{space}{unit}"


def parse_amount(text: str, measure: Measure) -> int:
    """
    Microlitres or centiunits from typed text: "0.2", ".2", "0,2", with or without the unit.

    "1,500" is refused: it is one thousand five hundred to one reader and one and a half to another.

    Raises:
        LossyAmountError: not text (a float has already lost the exact value).
        AmountError: anything else that is not a positive amount; the message is for the person
            typing.
    """
    if not isinstance(text, str):
        raise LossyAmountError(f"An amount is parsed from text, not from {type(text).__name__}.")
    notation = _NOTATIONS[measure]
    if len(text) > LONGEST_TEXT:
        raise AmountError(_refusal(text.strip(), notation))
    number = _number_of(text, measure, notation)
    match = _NUMBER.fullmatch(number)
    if match is None or not number:
        raise AmountError(_refusal(number, notation))
    whole, mark, part = match["whole"] or "0", match["mark"], match["part"] or ""
    if mark == "," and len(part) == 3 and whole != "0":
        raise AmountError(
            f"“{number}” can be read in two ways: type {whole}{part}, "
            f"or {whole}.{part[0]} with a point."
        )
    if len(part) > notation.digits:
        raise AmountError(
            f"Type at most {notation.digits} digits after the point; “{number}” has {len(part)}."
        )
    if int(whole) > LARGEST_WHOLE:
        raise AmountError(
            f"“{number}” is too large: type a number up to {LARGEST_WHOLE:,}, "
            f"such as {notation.example}."
        )
    amount = int(whole) * notation.scale + int(part.ljust(notation.digits, "0"))
    if amount == 0:
        raise AmountError(f"Type an amount above 0, such as {notation.example}.")
    return amount


def _exact(amount: int) -> int:
    if not isinstance(amount, int) or isinstance(amount, bool):
        raise LossyAmountError(
            f"An amount is an integer of the base unit, not {type(amount).__name__}."
        )
    return amount


def _number_of(text: str, measure: Measure, notation: _Notation) -> str:
    """The number as typed, once the unit behind it, if any, is seen to be the right one."""
    match = _NUMBER_AND_UNIT.fullmatch(text.strip())
    if match is None:
        raise AmountError(_refusal(text.strip(), notation))
    unit = match["unit"].casefold()
    if not unit or (unit in notation.spellings and match["number"]):
        return match["number"]
    other = next(n for m, n in _NOTATIONS.items() if m is not measure)
    if unit in other.spellings:
        raise AmountError(
            f"This product is counted in {notation.many}, not {other.many}: "
            f"type the {notation.many}, such as {notation.example}."
        )
    raise AmountError(_refusal(text.strip(), notation))


def _refusal(typed: str, notation: _Notation) -> str:
    shown = f"“{typed[:20]}” is not an amount: type" if typed else "Type"
    return (
        f"{shown} a number in {notation.many} with the digits 0 to 9, such as {notation.example}."
    )
