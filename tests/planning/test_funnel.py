"""
Funnel limits and verdicts.

The rows were computed with scipy 1.17 from the formula of Spiegelhalter, Stat Med 2005;24:1185 (the
interpolation recalled from memory); "drawn as none" where a limit is negative.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from planning.funnel import (
    METHOD,
    FunnelError,
    Limits,
    Verdict,
    chance_note,
    curve_sizes,
    funnel_curve,
    judge,
    limits,
    pooled_rate,
)
from planning.intervals import IntervalError

ONE_PER_CENT = [
    # size, 95 % low and high, 99.8 % low and high, fewest events beyond 99.8 %
    (20, None, 0.047537, None, 0.100186, 3),
    (50, None, 0.037042, None, 0.068220, 4),
    (100, None, 0.028914, None, 0.048394, 5),
    (200, None, 0.023744, None, 0.035078, 8),
    (500, 0.001111, 0.018683, None, 0.025436, 13),
    (1000, 0.003802, 0.016111, 0.001237, 0.020588, 21),
    (5000, 0.007235, 0.012751, 0.005838, 0.014524, 73),
]


def rounded(lines: Limits) -> tuple[float | None, float | None]:
    return (
        None if lines.low is None else round(lines.low, 6),
        None if lines.high is None else round(lines.high, 6),
    )


@pytest.mark.parametrize(("size", "low", "high", "outer_low", "outer_high", "fewest"), ONE_PER_CENT)
def test_the_limits_of_one_per_cent(
    size: int, low: float, high: float, outer_low: float, outer_high: float, fewest: int
) -> None:
    (point,) = funnel_curve(0.01, [size])
    assert point.size == size
    assert rounded(point.limits_95) == (low, high)
    assert rounded(point.limits_998) == (outer_low, outer_high)
    assert judge(fewest, size, 0.01).verdict is Verdict.BEYOND_998
    assert judge(fewest - 1, size, 0.01).verdict is not Verdict.BEYOND_998


@pytest.mark.parametrize("rate", [0.002, 0.01, 0.07, 0.5, 0.93])
@pytest.mark.parametrize("size", [30, 333, 4_000])
@pytest.mark.parametrize("tail", [0.025, 0.001])
def test_a_statistics_library_computes_the_same_limits(rate: float, size: int, tail: float) -> None:
    theirs = binom(size, rate)
    ours = limits(rate, size, tail)
    for probability, limit in [(tail, ours.low), (1 - tail, ours.high)]:
        r = theirs.ppf(probability)
        expected = (r - (theirs.cdf(r) - probability) / theirs.pmf(r)) / size
        if expected < 0:
            assert limit is None
        else:
            assert limit == pytest.approx(expected, rel=1e-7)


CHANCE = [(2, 20, 0.0168593), (3, 20, 0.00100358), (3, 50, 0.0138173), (4, 50, 0.00159617)]


@pytest.mark.parametrize(("events", "treated", "probability"), [*CHANCE, (5, 100, 0.00343232)])
def test_the_chance_of_so_many_events(events: int, treated: int, probability: float) -> None:
    assert judge(events, treated, 0.01).chance == pytest.approx(probability, rel=1e-5)


def test_one_event_in_a_lot_of_twenty_is_never_a_signal() -> None:
    for rate in (0.0001, 0.001, 0.01, 0.02):
        assert judge(1, 20, rate).verdict is Verdict.INSIDE
    assert judge(1, 1, 0.01).verdict is Verdict.INSIDE


def test_a_chance_pair_does_not_stand_out_as_a_cluster_does() -> None:
    assert judge(2, 20, 0.01).verdict is Verdict.BEYOND_95
    cluster = judge(3, 20, 0.01)
    # Beyond the interpolated line, though the exact tail lies a hair above 0.001.
    assert cluster.verdict is Verdict.BEYOND_998
    assert cluster.chance > 0.001
    assert cluster.is_above
    assert "interpolated" in METHOD


def test_a_lot_with_far_fewer_events_is_told_apart() -> None:
    judgement = judge(0, 1_000, 0.01)
    assert judgement.verdict is Verdict.BEYOND_998
    assert not judgement.is_above
    assert judgement.chance == 1


def test_no_events_are_never_too_many() -> None:
    # 1 in 1,000 in a lot of 20: even the upper line would lie below 0.
    assert limits(0.001, 20, 0.025).high is None
    assert judge(0, 20, 0.001).verdict is Verdict.INSIDE
    assert judge(2, 20, 0.001).verdict is Verdict.BEYOND_998


@pytest.mark.parametrize("rate", [0.0, 1.0])
def test_without_variation_every_lot_lies_on_the_line(rate: float) -> None:
    assert limits(rate, 20, 0.025) == Limits(rate, rate)
    assert judge(round(20 * rate), 20, rate).verdict is Verdict.INSIDE


def test_the_pooled_rate_counts_people_not_lots() -> None:
    assert pooled_rate([(1, 10), (4, 490)]) == 0.01
    assert pooled_rate([(0, 0)]) is None
    assert pooled_rate([]) is None


def test_what_has_no_place_in_the_plot_is_refused() -> None:
    with pytest.raises(FunnelError, match="No treatments"):
        judge(0, 0, 0.01)
    with pytest.raises(IntervalError, match="count people, not points"):
        judge(3, 2, 0.01)
    with pytest.raises(IntervalError):
        pooled_rate([(3, 2)])
    with pytest.raises(FunnelError):
        limits(1.5, 20, 0.025)
    with pytest.raises(FunnelError):
        limits(0.01, 20, 0.6)
    with pytest.raises(FunnelError):
        curve_sizes(0)


def test_the_curve_runs_to_the_largest_lot() -> None:
    assert curve_sizes(5) == [1, 2, 3, 4, 5]
    sizes = curve_sizes(5_000)
    assert (sizes[0], sizes[-1]) == (1, 5_000)
    assert len(sizes) <= 80
    assert sizes == sorted(set(sizes))
    assert [point.size for point in funnel_curve(0.01, sizes)] == sizes


@pytest.mark.parametrize(
    ("lots", "note"),
    [
        (
            1,
            "Of 1 lot looked at, chance alone puts less than one beyond the 95 % limits "
            "(1 in 20) and less than one beyond the 99.8 % limits (1 in 500).",
        ),
        (
            1_000,
            "Of 1,000 lots looked at, chance alone puts about 50 beyond the 95 % limits "
            "(1 in 20) and about 2 beyond the 99.8 % limits (1 in 500).",
        ),
    ],
)
def test_the_note_says_what_many_lots_do_by_chance(lots: int, note: str) -> None:
    assert chance_note(lots) == note
    with pytest.raises(FunnelError):
        chance_note(0)


@settings(max_examples=80)
@given(st.integers(1, 2_000), st.floats(0.001, 0.999), st.data())
def test_the_outer_lines_never_lie_inside_the_inner_ones(
    size: int, rate: float, data: st.DataObject
) -> None:
    judgement = judge(data.draw(st.integers(0, size)), size, rate)
    inner, outer = judgement.limits_95, judgement.limits_998
    assert (outer.low or 0) <= (inner.low or 0) + 1e-12
    assert (outer.high or 0) >= (inner.high or 0) - 1e-12
    assert 0 <= judgement.chance <= 1
