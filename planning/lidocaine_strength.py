"""
The strength of lidocaine as it is printed on a pack: typed and shown in per cent and in mg/mL.

Kept as micrograms per millilitre, an integer. 1 % is 10 mg/mL (table in the US prescribing
information, `planning.sources.LIDOCAINE_LABEL`).
"""

from __future__ import annotations

import re
from fractions import Fraction

from planning.lidocaine import LidocaineError, ug_per_ml_from_percent

_TYPED = re.compile(r"(?P<number>[0-9]{1,6}(?:[.,][0-9]{1,6})?)\s*(?P<unit>%|mg\s*/\s*ml)?", re.I)
_AMBIGUOUS = re.compile(r"[1-9][0-9]*,[0-9]{3}")


class StrengthError(ValueError):
    """What was typed is not a strength; the message says what to type."""


def parse_strength(text: str) -> int:
    """
    Micrograms per millilitre from "0.3 %", "3 mg/mL" or "0,3%"; nothing typed and "0" are none.

    Raises:
        StrengthError: no unit (0.3 and 3 are both found on packs, ten times apart in meaning),
            not a number, above 100 %, or finer than a microgram.
    """
    typed = text.strip()
    if not typed:
        return 0
    match = _TYPED.fullmatch(typed)
    if match is None:
        raise StrengthError("Type a number with its unit, such as 0.3 % or 3 mg/mL.")
    if _AMBIGUOUS.fullmatch(match["number"]):
        raise StrengthError("Type the number with a point, such as 0.3 % or 3 mg/mL.")
    number = Fraction(match["number"].replace(",", "."))
    if number == 0:
        return 0
    if match["unit"] is None:
        raise StrengthError(
            f"Add the unit: {match['number']} % or {match['number']} mg/mL? "
            "One is ten times the other."
        )
    percent = number if match["unit"] == "%" else number / 10
    try:
        return ug_per_ml_from_percent(percent)
    except LidocaineError as error:
        raise StrengthError(
            f"“{typed}” is not a strength of lidocaine: type such as 0.3 % or 3 mg/mL."
        ) from error


def format_strength(ug_per_ml: int) -> str:
    """ "0.3 % (3 mg/mL)", or "none"; no trailing zero, a leading zero."""
    if ug_per_ml == 0:
        return "none"
    return f"{_decimal(ug_per_ml, 4)} % ({_decimal(ug_per_ml, 3)} mg/mL)"


def percent_text(ug_per_ml: int) -> str:
    """What a form field shows again: "0.3 %", or nothing."""
    return f"{_decimal(ug_per_ml, 4)} %" if ug_per_ml else ""


def _decimal(value: int, places: int) -> str:
    whole, part = divmod(value, 10**places)
    decimals = f"{part:0{places}d}".rstrip("0")
    return f"{whole}{'.' if decimals else ''}{decimals}"
