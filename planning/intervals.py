"""
How sure a rate or a count is: intervals for events per patients treated and for plain counts.

Rates are floats between 0 and 1. Without treatments there is no interval: the answer is None, which
a page shows as "no treatments" and never as 0 %.

Sources: `WILSON_INTERVAL`, `EXACT_PROPORTION`, `EXACT_COUNT`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

from planning.distributions import binomial_cdf, poisson_cdf, root_of_falling
from planning.sources import EXACT_COUNT, EXACT_PROPORTION, WILSON_INTERVAL, Source

USUAL_LEVEL = 0.95


class IntervalError(ValueError):
    """Counts that cannot be: negative, not whole, or more events than treatments."""


@dataclass(frozen=True, slots=True)
class ConfidenceInterval:
    """Both ends of an interval, its level (0.95), and the method it was computed by."""

    low: float
    high: float
    level: float
    source: Source

    def per(self, exposure: float, unit: float) -> ConfidenceInterval:
        """A count's interval as a rate: per `unit` of what it was counted over, such as 1,000."""
        if exposure <= 0 or unit <= 0:
            raise IntervalError("A rate needs an exposure and a unit above 0.")
        factor = unit / exposure
        return ConfidenceInterval(self.low * factor, self.high * factor, self.level, self.source)


def wilson(events: int, treated: int, level: float = USUAL_LEVEL) -> ConfidenceInterval | None:
    """
    Wilson's score interval of events / treated; None if nobody was treated.

    Centre (p + z²/2n) / (1 + z²/n), half-width z sqrt(p(1-p)/n + z²/4n²) / (1 + z²/n).

    Raises:
        IntervalError: see the class; or a level not between 0 and 1.
    """
    check_counts(events, treated)
    tail = _tail(level)
    if not treated:
        return None
    z_squared = NormalDist().inv_cdf(1 - tail) ** 2
    share = events / treated
    stretch = 1 + z_squared / treated
    centre = (share + z_squared / (2 * treated)) / stretch
    spread = share * (1 - share) / treated + z_squared / (4 * treated**2)
    half = sqrt(z_squared * spread) / stretch
    # At no events and at nothing but events one end is exact; floats would miss it by a hair.
    low = centre - half if events else 0.0
    high = centre + half if events < treated else 1.0
    return ConfidenceInterval(low, high, level, WILSON_INTERVAL)


def clopper_pearson(
    events: int, treated: int, level: float = USUAL_LEVEL
) -> ConfidenceInterval | None:
    """
    The exact interval of events / treated; None if nobody was treated.

    Its ends are the rates at which so many events, or so few, have just the probability (1 - level)
    / 2, found by bisection to the accuracy of `planning.distributions`.

    Raises:
        IntervalError: see the class; or a level not between 0 and 1.
    """
    check_counts(events, treated)
    tail = _tail(level)
    if not treated:
        return None

    def end(count: int, probability: float) -> float:
        return root_of_falling(
            lambda rate: binomial_cdf(count, treated, rate) - probability, 0.0, 1.0
        )

    low = end(events - 1, 1 - tail) if events else 0.0
    high = end(events, tail) if events < treated else 1.0
    return ConfidenceInterval(low, high, level, EXACT_PROPORTION)


def garwood(events: int, level: float = USUAL_LEVEL) -> ConfidenceInterval:
    """
    The exact interval of a Poisson count, as a count; `per` makes a rate of it.

    Raises:
        IntervalError: a negative or not whole count; or a level not between 0 and 1.
    """
    _check_whole(events)
    tail = _tail(level)

    def end(count: int, probability: float) -> float:
        highest = count + 1.0
        while poisson_cdf(count, highest) > probability:
            highest *= 2
        return root_of_falling(lambda mean: poisson_cdf(count, mean) - probability, 0.0, highest)

    low = end(events - 1, 1 - tail) if events else 0.0
    return ConfidenceInterval(low, end(events, tail), level, EXACT_COUNT)


def check_counts(events: int, treated: int) -> None:
    """Raises IntervalError unless 0 <= events <= treated, both whole."""
    _check_whole(events)
    _check_whole(treated)
    if events > treated:
        raise IntervalError(
            f"{events} patients with an event cannot be more than {treated} treated: "
            "count people, not points."
        )


def _check_whole(count: int) -> None:
    if not isinstance(count, int) or isinstance(count, bool) or count < 0:
        raise IntervalError(f"A count is a whole number from 0, not {count!r}.")


def _tail(level: float) -> float:
    if not 0 < level < 1:
        raise IntervalError(f"A level lies between 0 and 1, such as 0.95, not {level!r}.")
    return (1 - level) / 2
