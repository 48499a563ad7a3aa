"""Shares as people read them."""

from __future__ import annotations

from fractions import Fraction

from planning.amounts import NO_BREAK_SPACE


def per_cent(share: float | Fraction, *, digits: int = 1) -> str:
    """ "1.2 %", never broken before the sign; a share too small to show as "< 0.1 %"."""
    least = 10.0**-digits
    hundredths = float(share * 100)
    if 0 < hundredths < least:
        return f"<{NO_BREAK_SPACE}{least:.{digits}f}{NO_BREAK_SPACE}%"
    return f"{hundredths:.{digits}f}{NO_BREAK_SPACE}%"
