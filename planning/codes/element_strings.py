"""
A GS1 code as it is printed under its bars for people: (01)09521234543213(17)300630(10)LOT42.

Fields of fixed length come first, so that the form needs no separators in a code made of it.
Source: GS1 General Specifications, sections 3 (identifiers) and 4.14 (text under a code; from
memory, not checked).
"""

from __future__ import annotations

from datetime import date


def element_string(gtin: str, *, expiry: date, lot: str, serial: str = "") -> str:
    """
    Product number, expiry, lot and, where there is one, serial number of a pack.

    Args:
        gtin: fourteen digits.
        lot, serial: exactly as printed.
    """
    text = f"(01){gtin}(17){expiry:%y%m%d}(10){lot}"
    return f"{text}(21){serial}" if serial else text
