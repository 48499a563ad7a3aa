"""Binomial and Poisson tails against scipy 1.17 (`scipy.stats.binom`, `scipy.stats.poisson`)."""

import random

import pytest
from scipy.stats import binom, poisson

from planning.distributions import (
    binomial_cdf,
    binomial_pmf,
    binomial_quantile,
    poisson_cdf,
    root_of_falling,
)

CLOSE = 1e-9
rng = random.Random(24)  # noqa: S311 - the same cases each time
SIZES = [1, 20, 250, 4_702, 100_000]
CASES = [
    (rng.randint(0, size), size, rng.choice([rng.random(), rng.random() / 100]))
    for size in SIZES
    for _ in range(6)
] + [(round(size * rate), size, rate) for size in SIZES for rate in (0.001, 0.01, 0.3, 0.97)]


@pytest.mark.parametrize(("count", "size", "rate"), CASES)
def test_a_binomial_tail_agrees_with_the_library(count: int, size: int, rate: float) -> None:
    theirs = binom(size, rate)
    assert binomial_cdf(count, size, rate) == pytest.approx(theirs.cdf(count), rel=CLOSE, abs=1e-15)
    assert binomial_pmf(count, size, rate) == pytest.approx(theirs.pmf(count), rel=CLOSE, abs=1e-15)


@pytest.mark.parametrize("mean", [0.01, 1.0, 3.7, 88.0, 12_345.6])
def test_a_poisson_tail_agrees_with_the_library(mean: float) -> None:
    for count in {0, 1, 5, int(mean), int(mean * 1.1) + 1, int(mean * 0.9)}:
        assert poisson_cdf(count, mean) == pytest.approx(
            poisson(mean).cdf(count), rel=CLOSE, abs=1e-15
        )


def test_certain_and_impossible_counts() -> None:
    assert binomial_cdf(-1, 10, 0.5) == 0
    assert binomial_cdf(10, 10, 0.5) == 1
    assert [binomial_pmf(count, 3, 0.0) for count in range(-1, 5)] == [0, 1, 0, 0, 0, 0]
    assert [binomial_pmf(count, 3, 1.0) for count in range(-1, 5)] == [0, 0, 0, 0, 1, 0]
    assert (binomial_cdf(0, 3, 0.0), binomial_cdf(2, 3, 1.0)) == (1, 0)
    assert (poisson_cdf(-1, 2.0), poisson_cdf(0, 0.0)) == (0, 1)


@pytest.mark.parametrize("probability", [0.001, 0.025, 0.5, 0.975, 0.999])
def test_a_quantile_agrees_with_the_library(probability: float) -> None:
    # Theirs asks for "at least" the probability, ours for more: equal unless they meet exactly.
    for size, rate in [(20, 0.01), (500, 0.01), (5_000, 0.03), (77, 0.6)]:
        assert binomial_quantile(probability, size, rate) == binom(size, rate).ppf(probability)


def test_a_quantile_lies_above_a_probability_met_exactly() -> None:
    # One toss of a fair coin: P(X <= 0) is exactly 1/2, which is not more than 1/2.
    assert binomial_quantile(0.5, 1, 0.5) == 1


def test_a_root_is_found_to_the_last_bit() -> None:
    assert root_of_falling(lambda x: 2 - x * x, 0.0, 2.0) == pytest.approx(2**0.5, rel=3e-16)
