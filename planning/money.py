"""
Prices: whole amounts of the smallest coin, and the text people read and type.

Two decimals are kept whatever the currency; a price is never a float and never rounded.
"""

from __future__ import annotations

import re

MOST = 9_999_999_99
_PRICE = re.compile(r"([0-9]{1,7}|[0-9]{1,3}(?:,[0-9]{3})+)(?:[.,]([0-9]{2}))?")


class PriceError(ValueError):
    """What was typed is no price; the message says how one is written."""


def parse_price(text: str) -> int:
    """
    "180", "180.00", "275,50" or "1,250.50" as hundredths: a comma before three digits parts the
    thousands, one before the last two is a decimal comma.

    Raises:
        PriceError: anything else.
    """
    found = _PRICE.fullmatch(text.strip())
    if not found:
        raise PriceError("Type the price as 180 or 180.50, with a point before the decimals.")
    value = int(found[1].replace(",", "")) * 100 + int(found[2] or 0)
    if value > MOST:
        raise PriceError(f"Type at most {plain_price(MOST)}.")
    return value


def plain_price(hundredths: int) -> str:
    """18050 -> "180.50", as it is typed and as files have it."""
    return f"{hundredths // 100}.{hundredths % 100:02d}"


def format_price(hundredths: int, currency: str) -> str:
    """ "EUR 1,250.50": the code of ISO 4217 before the number, with a space that does not break."""
    return f"{currency}\N{NO-BREAK SPACE}{hundredths // 100:,}.{hundredths % 100:02d}"
