"""
Intervals against published and computed values.

The rows of proportions: Newcombe, Stat Med 1998;17:857-872, prints 81/263, 15/148, 0/20 and 1/29
(recalled from memory, to four digits); all rows as computed by statsmodels 0.15 and scipy 1.17.
23/4702 is a published count (Dermatol Surg 2015, delayed nodules), its interval computed. The rows
of counts: Garwood 1936 by chi-square quantiles (scipy 1.17); 3.689 for no event is in print.
"""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binomtest, chi2

from planning.intervals import (
    ConfidenceInterval,
    IntervalError,
    clopper_pearson,
    garwood,
    wilson,
)

PROPORTIONS = [
    # events, treated, Wilson %, Clopper-Pearson %
    (81, 263, 25.5289, 36.6210, 25.2737, 36.7622),
    (15, 148, 6.2386, 16.0487, 5.7844, 16.1650),
    (0, 20, 0, 16.1125, 0, 16.8433),
    (1, 29, 0.6113, 17.1755, 0.0873, 17.7644),
    (23, 60, 27.0883, 50.9824, 26.0707, 51.7885),
    (0, 10, 0, 27.7533, 0, 30.8497),
    (1, 10, 1.7876, 40.4150, 0.2529, 44.5016),
    (2, 120, 0.4583, 5.8736, 0.2025, 5.8909),
    (3, 1250, 0.0817, 0.7033, 0.0495, 0.6998),
    (5, 100, 2.1544, 11.1750, 1.6432, 11.2835),
    (23, 4702, 0.3262, 0.7330, 0.3103, 0.7331),
    (0, 300, 0, 1.2643, 0, 1.2221),
    (12, 12, 75.7506, 100, 73.5352, 100),
    (0, 1, 0, 79.3451, 0, 97.5),
    (1, 1, 20.6549, 100, 2.5, 100),
]


def in_per_cent(interval: ConfidenceInterval | None) -> tuple[float, float]:
    assert interval is not None
    return round(interval.low * 100, 4), round(interval.high * 100, 4)


@pytest.mark.parametrize(("events", "treated", "w_low", "w_high", "c_low", "c_high"), PROPORTIONS)
def test_a_proportion_has_the_interval_of_the_table(
    events: int, treated: int, w_low: float, w_high: float, c_low: float, c_high: float
) -> None:
    assert in_per_cent(wilson(events, treated)) == (w_low, w_high)
    assert in_per_cent(clopper_pearson(events, treated)) == (c_low, c_high)


PRINTED = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0, 0.1611)]


@pytest.mark.parametrize(("events", "treated", "low", "high"), [*PRINTED, (1, 29, 0.0061, 0.1718)])
def test_newcombes_examples(events: int, treated: int, low: float, high: float) -> None:
    interval = wilson(events, treated)
    assert interval is not None
    assert (round(interval.low, 4), round(interval.high, 4)) == (low, high)


COUNTS = [
    # events, 95 % low and high, 99.8 % low and high
    (0, 0, 3.6889, 0, 6.9078),
    (1, 0.0253, 5.5716, 0.0010, 9.2334),
    (2, 0.2422, 7.2247, 0.0454, 11.2289),
    (3, 0.6187, 8.7673, 0.1905, 13.0622),
    (4, 1.0899, 10.2416, 0.4286, 14.7941),
    (5, 1.6235, 11.6683, 0.7394, 16.4547),
    (6, 2.2019, 13.0595, 1.1071, 18.0616),
    (7, 2.8144, 14.4227, 1.5203, 19.6262),
    (8, 3.4538, 15.7632, 1.9708, 21.1562),
    (9, 4.1154, 17.0848, 2.4524, 22.6574),
    (10, 4.7954, 18.3904, 2.9605, 24.1340),
    (12, 6.2006, 20.9616, 4.0424, 27.0260),
    (15, 8.3954, 24.7402, 5.7940, 31.2436),
    (20, 12.2165, 30.8884, 8.9582, 38.0419),
    (25, 16.1787, 36.9049, 12.3370, 44.6361),
    (50, 37.1110, 65.9188, 30.9590, 75.9419),
    (100, 81.3640, 121.6268, 71.9214, 134.9243),
]


@pytest.mark.parametrize(("events", "low", "high", "wide_low", "wide_high"), COUNTS)
def test_a_count_has_the_interval_of_the_table(
    events: int, low: float, high: float, wide_low: float, wide_high: float
) -> None:
    usual, wide = garwood(events), garwood(events, 0.998)
    assert (round(usual.low, 4), round(usual.high, 4)) == (low, high)
    assert (round(wide.low, 4), round(wide.high, 4)) == (wide_low, wide_high)


RATES = [
    # events, exposure, per, low, high
    (3, 1_250, 1_000, 0.4949, 7.0138),
    (5, 1_000, 1_000, 1.6235, 11.6683),
    (0, 250, 1_000, 0, 14.7555),
    (2, 100, 1_000, 2.4221, 72.2469),
    (23, 5.25, 1, 2.777148, 6.57358),  # the worked example of a statistics package's manual
]


@pytest.mark.parametrize(("events", "exposure", "unit", "low", "high"), RATES)
def test_a_count_becomes_a_rate(
    events: int, exposure: float, unit: float, low: float, high: float
) -> None:
    rate = garwood(events).per(exposure, unit)
    assert rate.low == pytest.approx(low, abs=5e-5)
    assert rate.high == pytest.approx(high, abs=5e-5)


rng = random.Random(1927)  # noqa: S311 - the same cases each time
DRAWN = [(rng.randint(0, n), n, lvl) for n in (7, 60, 900, 12_000) for lvl in (0.9, 0.95, 0.998)]


@pytest.mark.parametrize(("events", "treated", "level"), DRAWN)
def test_a_statistics_library_computes_the_same(events: int, treated: int, level: float) -> None:
    for ours, method in ((wilson, "wilson"), (clopper_pearson, "exact")):
        theirs = binomtest(events, treated).proportion_ci(level, method=method)
        interval = ours(events, treated, level)
        assert interval is not None
        assert interval.low == pytest.approx(theirs.low, rel=1e-9, abs=1e-12)
        assert interval.high == pytest.approx(theirs.high, rel=1e-9, abs=1e-12)
    count = garwood(events, level)
    tail = (1 - level) / 2
    low = chi2.ppf(tail, 2 * events) / 2 if events else 0
    assert count.low == pytest.approx(low, rel=1e-9)
    assert count.high == pytest.approx(chi2.ppf(1 - tail, 2 * events + 2) / 2, rel=1e-9)


def test_without_treatments_there_is_no_interval_and_never_a_zero() -> None:
    assert wilson(0, 0) is None
    assert clopper_pearson(0, 0) is None


@pytest.mark.parametrize(
    ("events", "treated"), [(1, 0), (21, 20), (-1, 20), (1, -1), (1.0, 20), (True, 20)]
)
def test_counts_that_cannot_be_are_refused(events: int, treated: int) -> None:
    for method in (wilson, clopper_pearson):
        with pytest.raises(IntervalError):
            method(events, treated)


@pytest.mark.parametrize("level", [0, 1, 95, -0.5])
def test_a_level_is_a_share(level: float) -> None:
    for refused in (
        lambda: wilson(1, 20, level),
        lambda: clopper_pearson(1, 20, level),
        lambda: garwood(1, level),
    ):
        with pytest.raises(IntervalError, match=r"such as 0\.95"):
            refused()
    with pytest.raises(IntervalError):
        garwood(-1)
    with pytest.raises(IntervalError):
        garwood(1).per(0, 1_000)


@settings(max_examples=60)
@given(st.data(), st.integers(1, 3_000))
def test_an_interval_holds_the_rate_and_lies_between_0_and_1(
    data: st.DataObject, treated: int
) -> None:
    events = data.draw(st.integers(0, treated))
    for method in (wilson, clopper_pearson):
        interval = method(events, treated)
        assert interval is not None
        assert 0 <= interval.low <= events / treated <= interval.high <= 1
