"""
Fisher's exact test against scipy 1.17 and a table worked by hand.

The tea-tasting table is Fisher's own (The Design of Experiments, 1935, recalled from memory).
"""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import fisher_exact as library_fisher_exact

from planning.comparison import fisher_exact
from planning.intervals import IntervalError


def test_three_of_twenty_against_five_of_480() -> None:
    p = fisher_exact(3, 20, 5, 480)
    assert p is not None
    assert float(p) == pytest.approx(0.0027072636, abs=5e-11)  # scipy 1.17


def test_the_lady_tasting_tea() -> None:
    # All four cups right: 1 way of 70, and the opposite is as unlikely.
    assert fisher_exact(4, 4, 0, 4) == Fraction(2, 70)
    assert fisher_exact(3, 4, 1, 4) == Fraction(34, 70)


def test_two_lots_without_events_do_not_differ() -> None:
    assert fisher_exact(0, 20, 0, 30) == 1


def test_a_lot_nobody_was_treated_with_is_not_compared() -> None:
    assert fisher_exact(0, 0, 1, 30) is None
    assert fisher_exact(1, 30, 0, 0) is None


def test_counts_that_cannot_be_are_refused() -> None:
    with pytest.raises(IntervalError):
        fisher_exact(3, 2, 0, 10)
    with pytest.raises(IntervalError):
        fisher_exact(0, 10, 3, 2)


@settings(max_examples=60, deadline=None)
@given(st.data(), st.integers(1, 400), st.integers(1, 400))
def test_a_statistics_library_computes_the_same(
    data: st.DataObject, treated: int, other_treated: int
) -> None:
    events = data.draw(st.integers(0, treated))
    others = data.draw(st.integers(0, other_treated))
    p = fisher_exact(events, treated, others, other_treated)
    theirs = library_fisher_exact(
        [[events, treated - events], [others, other_treated - others]]
    ).pvalue
    assert p is not None
    assert float(p) == pytest.approx(theirs, rel=1e-6, abs=1e-15)
    assert p == fisher_exact(others, other_treated, events, treated)
