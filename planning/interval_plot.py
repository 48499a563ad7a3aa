"""
A share with its interval as a mark on a line from 0 to 100 %, small enough for a row of a table.

Rows below each other share the scale, so that the eye compares them truly. In whole units of a box
of WIDTH by HEIGHT.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

WIDTH, HEIGHT = 200, 24
LEFT, RIGHT = 8, 192


@dataclass(frozen=True, slots=True)
class IntervalMark:
    """
    Attributes:
        at: where the share stands.
        low, high: where its interval ends.
    """

    at: int
    low: int
    high: int
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = RIGHT
    middle: int = HEIGHT // 2


def interval_mark(share: float, low: float, high: float) -> IntervalMark:
    """
    Raises:
        ValueError: not in order, or not between 0 and 1.
    """
    if not 0 <= low <= share <= high <= 1:
        raise ValueError(f"{low} to {high} is no interval of {share}.")
    return IntervalMark(*(across(each) for each in (share, low, high)))


def across(share: float) -> int:
    return LEFT + round(share * (RIGHT - LEFT))


def grid(shares: Iterable[float] = (0, 0.25, 0.5, 0.75, 1)) -> tuple[int, ...]:
    """Where the lines of the scale stand."""
    return tuple(across(share) for share in shares)
