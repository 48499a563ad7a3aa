"""
Which kind of barcode a scanner says it read.

Many scanners, and the tablet's camera here, put three characters in front of the data: `]`, a
letter for the kind and a digit for its variant. Source: ISO/IEC 15424, symbology identifiers; the
list of those that carry GS1 data from GS1 General Specifications, figure 5.1.2-2, as the library
biip 5.2 repeats it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from planning.codes.errors import CodeError

_IDENTIFIER = re.compile(r"\][A-Za-z][0-9A-Za-z]")
GS1_ENTRIES = frozenset({"]C1", "]d2", "]Q3", "]e0", "]e1", "]e2", "]J1"})
# Product number alone, and how many digits it has there.
NUMBER_LENGTHS = {"]E0": 13, "]E4": 8, "]I1": 14}
_PLAIN = {"]C0": "a plain Code 128", "]d1": "a plain Data Matrix", "]Q1": "a plain QR code"}


@dataclass(frozen=True, slots=True)
class Carrier:
    """The three characters in front of the data, or "" where the scanner sends none."""

    identifier: str = ""

    @property
    def holds_entries(self) -> bool:
        return self.identifier in GS1_ENTRIES

    @property
    def number_length(self) -> int | None:
        """How many digits a code of this kind has that holds a product number and no more."""
        return NUMBER_LENGTHS.get(self.identifier)

    @property
    def caution(self) -> str:
        """What to say of entries read from a code that GS1 does not know; "" for its own."""
        if not self.identifier or self.holds_entries or self.number_length:
            return ""
        kind = _PLAIN.get(self.identifier, f"of another kind ({self.identifier})")
        return (
            f"This code is {kind}, not a GS1 code, and need not follow the rules it was read by: "
            "compare product, lot and expiry with the box."
        )


def take_carrier(text: str) -> tuple[Carrier, str]:
    """
    The carrier and what follows it.

    Raises:
        CodeError: a `]` in front that no identifier begins with.
    """
    if not text.startswith("]"):
        return Carrier(), text
    if not _IDENTIFIER.match(text):
        raise CodeError(
            "The code begins with “]” and names no kind of barcode after it: scan again."
        )
    return Carrier(text[:3]), text[3:].lstrip(" ")
