"""
Codes of the Health Industry Bar Code standard (ANSI/HIBC 2): known again, not read.

They begin with `+`. No well-kept library reads them, and a reader of our own from memory would
put wrong lots into the record; so they are refused, and the person types what is printed. Whether
the code was misread can be told, from its check character: modulo 43 of the sum of the places of
its characters. Sources: modulo 43 from barcode reference pages; the order of the characters from
memory, it agrees with the standard's own example, `+A123BJC5D6E71G`.
"""

from __future__ import annotations

from planning.codes.errors import BY_HAND, CodeError

CHARACTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"
# +, four of the labeller, one of the product, the unit of measure, the check character.
SHORTEST = 8


def check_character(data: str) -> str:
    """
    The check character of `data`, which begins with `+` and holds everything before it.

    Raises:
        ValueError: a character that these codes do not have.
    """
    return CHARACTERS[sum(CHARACTERS.index(letter) for letter in data) % len(CHARACTERS)]


def refusal(text: str) -> CodeError:
    """Why a text that begins with `+` is not read, and what to do."""
    # A blank is a check character too, and is lost where text is trimmed.
    if not (_agrees(text) or _agrees(f"{text} ")):
        return CodeError(
            "This looks like an HIBC code (it begins with +), and was misread: its last character "
            f"does not fit the others. HIBC codes are not read here: {BY_HAND}."
        )
    return CodeError(
        "This is an HIBC code (it begins with +). HIBC codes are not read here: look for a second, "
        f"GS1 code on the box, or {BY_HAND}."
    )


def _agrees(text: str) -> bool:
    if len(text) < SHORTEST or not set(text) <= set(CHARACTERS):
        return False
    return check_character(text[:-1]) == text[-1]
