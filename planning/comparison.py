"""
Two lots compared: could the difference of their rates be chance?

Fisher's exact test, in whole numbers until the last division, so it holds for the small lots of a
clinic, where approximations do not. A small p says that the lots differ, not why; of many pairs
looked at, 1 in 20 has p below 0.05 by chance.

Source: `FISHER_EXACT`.
"""

from __future__ import annotations

from fractions import Fraction
from math import comb

from planning.intervals import check_counts


def fisher_exact(
    events: int, treated: int, other_events: int, other_treated: int
) -> Fraction | None:
    """
    Two-sided p, exact: the probability, if both lots have one rate, of this split of the events
    between them or any split that is no more likely. None if nobody was treated with one of them.

    Raises:
        IntervalError: more events than treated, or a negative count.
    """
    check_counts(events, treated)
    check_counts(other_events, other_treated)
    if not treated or not other_treated:
        return None
    in_all = events + other_events
    ways = {
        first: comb(treated, first) * comb(other_treated, in_all - first)
        for first in range(max(0, in_all - other_treated), min(treated, in_all) + 1)
    }
    no_more_likely = sum(count for count in ways.values() if count <= ways[events])
    return Fraction(no_more_likely, comb(treated + other_treated, in_all))
