"""
How long it takes until something happens, where for some it has not happened yet.

Those who still wait count for as long as they have waited; leaving them out would make the times
look shorter than they are. Survival is an exact fraction.

Source: `KAPLAN_MEIER`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

QUARTILES = (Fraction(1, 4), Fraction(1, 2), Fraction(3, 4))


@dataclass(frozen=True, slots=True)
class Wait:
    """
    Attributes:
        days: until it happened, or how long was waited so far.
        has_happened: false for one who still waits, or whose waiting was called off.
    """

    days: int
    has_happened: bool

    def __post_init__(self) -> None:
        if self.days < 0:
            raise ValueError(f"Nobody waits {self.days} days.")


@dataclass(frozen=True, slots=True)
class WaitingTimes:
    """
    Attributes:
        known: for how many it has happened.
        waiting: for how many it has not.
        quartiles: the days by which it happened for a quarter, half and three quarters; None where
            so many have not come that far.
    """

    known: int
    waiting: int
    quartiles: tuple[int | None, int | None, int | None]

    @property
    def count(self) -> int:
        return self.known + self.waiting

    @property
    def median(self) -> int | None:
        return self.quartiles[1]


def waiting_times(waits: Sequence[Wait]) -> WaitingTimes:
    known = sum(1 for wait in waits if wait.has_happened)
    curve = survival(waits)
    lower, middle, upper = (reached_by(curve, share) for share in QUARTILES)
    return WaitingTimes(known, len(waits) - known, (lower, middle, upper))


def survival(waits: Iterable[Wait]) -> list[tuple[int, Fraction]]:
    """
    The product-limit estimate: for each day on which it happened, the share still waiting after it.

    At the day of an event everybody counts as waiting who waited at least so long, those whose
    waiting ended that day too.
    """
    happened: Counter[int] = Counter()
    ended: Counter[int] = Counter()
    for wait in waits:
        ended[wait.days] += 1
        happened[wait.days] += wait.has_happened
    at_risk, share = ended.total(), Fraction(1)
    curve = []
    for day in sorted(ended):
        if happened[day]:
            share *= Fraction(at_risk - happened[day], at_risk)
            curve.append((day, share))
        at_risk -= ended[day]
    return curve


def reached_by(curve: Iterable[tuple[int, Fraction]], share: Fraction) -> int | None:
    """The first day by which it happened for at least `share` of all; None if it never did."""
    return next((day for day, waiting in curve if 1 - waiting >= share), None)
