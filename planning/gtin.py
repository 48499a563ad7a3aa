"""
Trade item numbers (GTIN) in the one form that is stored and compared: fourteen digits.

Leading zeros do not change a GTIN; a first digit of 1 to 8 is another item (the outer pack) and
stays. Source: GS1 General Specifications, section 7.9 (check digit).
"""

from __future__ import annotations

from stdnum import ean

LENGTHS = (8, 12, 13, 14)


class GtinError(ValueError):
    """The text is not a GTIN; the message says what is wrong and what to do."""


def normalise_gtin(text: str) -> str:
    """
    The fourteen-digit form of a GTIN-8, -12, -13 or -14.

    Blanks and hyphens, as printed under a barcode, are ignored.

    Raises:
        GtinError: not digits, a wrong length, a wrong check digit, or nothing but zeros.
    """
    digits = "".join(text.replace("-", "").split())
    if not digits:
        raise GtinError("The GTIN is empty: type the digits printed under the barcode.")
    if not (digits.isascii() and digits.isdigit()):
        raise GtinError(
            "A GTIN holds only the digits 0 to 9: type the digits printed under the barcode."
        )
    if len(digits) not in LENGTHS:
        raise GtinError(
            f"A GTIN has 8, 12, 13 or 14 digits; this one has {len(digits)}. "
            "Check for a missing digit."
        )
    if not digits.strip("0"):
        raise GtinError(
            "A GTIN of zeros names no product: type the digits printed under the barcode."
        )
    expected = ean.calc_check_digit(digits[:-1])
    if digits[-1] != expected:
        raise GtinError(
            f"The last digit of this GTIN should be {expected}, not {digits[-1]}: "
            "compare each digit with the pack."
        )
    return digits.zfill(14)


def packed_item(gtin: str) -> str:
    """
    The item inside an outer pack: its GTIN from that of the pack, both of fourteen digits.

    "" where the number is the item's own (first digit 0) or says nothing of what is inside (9,
    variable measure). Source: GS1 General Specifications, section 2.1.2.3 (from memory).
    """
    if gtin[0] in "09":
        return ""
    body = f"0{gtin[1:-1]}"
    return body + ean.calc_check_digit(body)
