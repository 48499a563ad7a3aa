"""
Lot numbers: which characters they hold, and which two are easily taken for one another.

A lot number is text. `007`, `7`, `LOT7` and `lot7` are four lots; it is stored and compared exactly
as printed, and likeness is a question for the person typing, never a reason to merge. Serial
numbers hold the same characters.

Source: GS1 General Specifications, sections 3.4.1 (AI 10) and 3.5.2 (AI 21) and character set 82.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from operator import eq

LONGEST = 20
_CHARACTER_SET_82 = re.compile(r"[!%-?A-Z_a-z\"]")
# Printed letters that are read as digits (common practice, no source).
_ALIKE = str.maketrans({"O": "0", "I": "1", "L": "1", "Z": "2", "S": "5", "B": "8"})
_LEADING_ZEROS = re.compile(r"(?<![0-9])0+(?=[0-9])")
# Signs that only group what is printed. A letter or a list often leaves them out, and at a recall
# one question too many costs less than one lot not found (common practice, no source).
_GROUPING_SIGNS = re.compile(r"[-./_]")


class LotNumberError(ValueError):
    """The text is not a lot number; the message says what is wrong and what to do."""


def check_lot_number(text: str) -> str:
    """
    The text itself, if it is one to twenty characters of the set.

    Raises:
        LotNumberError: empty, too long, or with a character that no lot number holds.
    """
    return _check(text, "lot number")


def check_serial_number(text: str) -> str:
    """The text itself, as `check_lot_number`; the messages speak of a serial number."""
    return _check(text, "serial number")


def folded(number: str) -> str:
    """The number without what is easily misread: letters like digits, case, leading zeros."""
    alike = "".join(number.split()).upper().translate(_ALIKE)
    return _LEADING_ZEROS.sub("", alike)


def readings(number: str) -> tuple[str, ...]:
    """
    The number folded in each way that tells leading zeros, in the same order for every number.

    As it stands and without the signs that group it: a zero behind a hyphen leads its group or not,
    so "10-05" is like "10-5" by the first and like "1005" by the second. And with letters read as
    digits before leading zeros are left out, or after: "B01" is like "801" or like "B1".
    """
    return tuple(
        fold(text)
        for text in (number, without_grouping(number))
        for fold in (folded, _folded_behind_letters)
    )


def _folded_behind_letters(number: str) -> str:
    capitals = "".join(number.split()).upper().replace("O", "0")
    return _LEADING_ZEROS.sub("", capitals).translate(_ALIKE)


def without_grouping(number: str) -> str:
    return _GROUPING_SIGNS.sub("", number)


def lookalikes(number: str, known: Iterable[str]) -> list[str]:
    """Those of `known` that differ from `number` and could be meant by it, in their order."""
    own = readings(number)
    return [other for other in known if other != number and any(map(eq, own, readings(other)))]


def _check(text: str, what: str) -> str:
    if not text:
        raise LotNumberError(f"Type the {what} as it is printed on the box.")
    if len(text) > LONGEST:
        raise LotNumberError(
            f"A {what} has at most {LONGEST} characters; this one has {len(text)}. "
            "Check whether something else was scanned with it."
        )
    wrong = [letter for letter in text if not _CHARACTER_SET_82.fullmatch(letter)]
    if wrong:
        shown = f"“{wrong[0]}”"
        if wrong[0].isspace():
            shown = "a blank"
        elif not wrong[0].isprintable():
            shown = "a sign that cannot be seen"
        raise LotNumberError(
            f"A {what} does not hold {shown}: it is made of letters without accents, digits "
            "and the signs ! \" % & ' ( ) * + , - . / : ; < = > ? _"
        )
    return text
