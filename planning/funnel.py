"""
Funnel plot of events per lot: which lots lie outside of what chance alone would do.

A lot's rate (patients with an event / patients treated) is compared with the rate of all lots
together. The limits are exact binomial prediction limits, interpolated between whole counts: with r
the smallest count with P(X <= r) > p and a = (P(X <= r) - p) / P(X = r), the limit is (r - a) / n.
Confidence intervals of the lots are never used as limits (Seaton and Manktelow, BMC Med Res
Methodol 2012;12:98).

Sources: `FUNNEL_PLOT`, `FUNNEL_INTERPOLATION`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from planning.distributions import binomial_cdf, binomial_pmf, binomial_quantile
from planning.intervals import check_counts
from planning.vocabulary import Term

METHOD = (
    "Exact binomial limits around the rate of all lots together, interpolated between whole counts "
    "(Spiegelhalter 2005)."
)
# Tails outside each pair of lines: 2.5 % and 0.1 % on each side.
_TAIL_95 = 0.025
_TAIL_998 = 0.001
# One event proves nothing about a lot, however small the lot and the pooled rate.
FEWEST_EVENTS = 2


class FunnelError(ValueError):
    """A rate or a size from which no limits can be drawn."""


class Verdict(Term):
    """Where a lot lies in the funnel."""

    INSIDE = "inside", "Within what chance allows"
    BEYOND_95 = "beyond_95", "Beyond the 95 % limit"
    BEYOND_998 = "beyond_998", "Beyond the 99.8 % limit"


@dataclass(frozen=True, slots=True)
class Limits:
    """Lower and upper limit of a rate; None where the line would lie below 0 and is not drawn."""

    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """Both pairs of limits for one size, for drawing."""

    size: int
    limits_95: Limits
    limits_998: Limits


@dataclass(frozen=True, slots=True)
class Judgement:
    """
    One lot in the funnel.

    Attributes:
        is_above: more events than expected; a lot below the lower limit may be a good lot, or one
            whose events were not written down.
        chance: probability of so many events or more by the pooled rate alone. Near a limit it may
            say otherwise than the interpolated line, so both are shown.
    """

    verdict: Verdict
    is_above: bool
    chance: float
    limits_95: Limits
    limits_998: Limits


def pooled_rate(lots: Iterable[tuple[int, int]]) -> float | None:
    """Events / treated over all (events, treated) pairs; None if nobody was treated."""
    events = treated = 0
    for lot_events, lot_treated in lots:
        check_counts(lot_events, lot_treated)
        events += lot_events
        treated += lot_treated
    return events / treated if treated else None


def limits(rate: float, size: int, tail: float) -> Limits:
    """
    Prediction limits of the rate of a lot with `size` patients.

    At a pooled rate of 0 or 1 nothing varies, and both limits are that rate.

    Args:
        tail: probability outside on each side: 0.025 for the 95 % lines, 0.001 for 99.8 %.

    Raises:
        FunnelError: rate not from 0 to 1, nobody treated, or a tail not between 0 and a half.
    """
    if not 0 <= rate <= 1:
        raise FunnelError(f"A rate lies from 0 to 1, not at {rate}.")
    if size <= 0:
        raise FunnelError("No treatments: a lot nobody was treated with has no place in the plot.")
    if not 0 < tail < 0.5:
        raise FunnelError(f"A tail is a share below a half, such as 0.025, not {tail}.")
    if rate in (0, 1):
        return Limits(rate, rate)
    return Limits(_limit(rate, size, tail), _limit(rate, size, 1 - tail))


def judge(events: int, treated: int, rate: float) -> Judgement:
    """
    Where one lot lies in the funnel around the pooled rate.

    A single event is never a signal, and a lot without events never lies above a line.

    Raises:
        FunnelError: nobody was treated, or a rate not from 0 to 1.
        IntervalError: more events than treated, or a negative count.
    """
    check_counts(events, treated)
    inner, outer = limits(rate, treated, _TAIL_95), limits(rate, treated, _TAIL_998)
    share = events / treated
    is_above = share > rate
    verdict = Verdict.INSIDE
    if not is_above or events >= FEWEST_EVENTS:
        if _is_beyond(share, outer):
            verdict = Verdict.BEYOND_998
        elif _is_beyond(share, inner):
            verdict = Verdict.BEYOND_95
    chance = 1 - binomial_cdf(events - 1, treated, rate)
    return Judgement(verdict, is_above, chance, inner, outer)


def funnel_curve(rate: float, sizes: Iterable[int]) -> list[CurvePoint]:
    """
    The four lines of the plot at the given sizes, in their order.

    The lines of small lots rise and fall in teeth: counts are whole.

    Raises:
        FunnelError: as `limits`.
    """
    return [
        CurvePoint(size, limits(rate, size, _TAIL_95), limits(rate, size, _TAIL_998))
        for size in sizes
    ]


def curve_sizes(largest: int, most: int = 80) -> list[int]:
    """Up to `most` rising sizes from 1 to `largest`, closer together where the funnel is steep."""
    if largest < 1 or most < 2:
        raise FunnelError("A curve runs from 1 to the largest lot, over at least two sizes.")
    return sorted({1 + round((largest - 1) * (step / (most - 1)) ** 2) for step in range(most)})


def chance_note(lots: int) -> str:
    """What to expect by chance alone when so many lots are looked at, as a sentence."""
    if lots < 1:
        raise FunnelError("The note is about at least one lot.")
    return (
        f"Of {lots:,} lot{'' if lots == 1 else 's'} looked at, chance alone puts "
        f"{_about(lots, 20)} beyond the 95 % limits (1 in 20) and {_about(lots, 500)} beyond the "
        "99.8 % limits (1 in 500)."
    )


def _limit(rate: float, size: int, probability: float) -> float | None:
    count = binomial_quantile(probability, size, rate)
    excess = binomial_cdf(count, size, rate) - probability
    limit = (count - excess / binomial_pmf(count, size, rate)) / size
    return limit if limit >= 0 else None


def _is_beyond(share: float, lines: Limits) -> bool:
    """
    Strictly outside. An upper line below 0 means that no event at all is what chance does nearly
    always, so any event lies outside; nothing lies below a lower line that is not drawn.
    """
    is_above = share > (lines.high if lines.high is not None else 0)
    return is_above or (lines.low is not None and share < lines.low)


def _about(lots: int, one_in: int) -> str:
    expected = round(lots / one_in)
    return f"about {expected:,}" if expected else "less than one"
