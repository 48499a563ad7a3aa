"""
How long a text message is, in the parts that a network sends and a provider charges for.

Source: 3GPP TS 23.038, 6.2.1 (GSM 7 bit default alphabet, its extension table) and 6.2.3 (UCS2);
3GPP TS 23.040, 9.2.3.24.1 (a part of a longer message gives six octets of its 140 to a header).
"""

from __future__ import annotations

from dataclasses import dataclass

ALPHABET = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
"""TS 23.038, 6.2.1: one septet each."""

EXTENSION = frozenset("\f^{}\\[~]|€")
"""TS 23.038, 6.2.1.1: an escape and a septet, two in all; never parted."""

ONE_PART_SEPTETS, PART_SEPTETS = 160, 153
ONE_PART_UNITS, PART_UNITS = 70, 67


@dataclass(frozen=True, slots=True)
class Length:
    """
    Attributes:
        counted: septets of the GSM alphabet, or 16-bit units where `is_unicode`.
        parts: how many messages a network sends; 0 for an empty text.
        strange: the signs for which the whole text is sent in UCS2, in the order they are met.
    """

    counted: int
    parts: int
    strange: tuple[str, ...] = ()

    @property
    def is_unicode(self) -> bool:
        return bool(self.strange)

    @property
    def room(self) -> int:
        """How many are full in so many parts."""
        if self.parts <= 1:
            return ONE_PART_UNITS if self.is_unicode else ONE_PART_SEPTETS
        return self.parts * (PART_UNITS if self.is_unicode else PART_SEPTETS)


def length_of(text: str) -> Length:
    """
    How long `text` is as a text message.

    >>> length_of("a" * 160).parts, length_of("a" * 161).parts
    (1, 2)
    """
    strange = tuple(dict.fromkeys(sign for sign in text if sign not in ALPHABET | EXTENSION))
    if strange:
        # Signs beyond the first plane take two units, which stay together.
        sizes = [2 if ord(sign) > 0xFFFF else 1 for sign in text]
        return Length(sum(sizes), _parts(sizes, ONE_PART_UNITS, PART_UNITS), strange)
    sizes = [2 if sign in EXTENSION else 1 for sign in text]
    return Length(sum(sizes), _parts(sizes, ONE_PART_SEPTETS, PART_SEPTETS))


def _parts(sizes: list[int], whole: int, part: int) -> int:
    if sum(sizes) <= whole:
        return 1 if sizes else 0
    parts, filled = 1, 0
    for size in sizes:
        if filled + size > part:
            parts, filled = parts + 1, 0
        filled += size
    return parts
