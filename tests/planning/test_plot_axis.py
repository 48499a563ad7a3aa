"""The axis of a small plot, by hand; steps of 1, 2 and 5 are common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.plot_axis import MOST_STEPS, axis_to


@pytest.mark.parametrize(
    ("highest", "ticks"),
    [
        (1, (0, 1)),
        (3, (0, 1, 2, 3)),
        (4, (0, 2, 4)),
        (7, (0, 5, 10)),
        (200, (0, 100, 200)),
        (250, (0, 100, 200, 300)),
        (1_000, (0, 500, 1_000)),
        (6_400, (0, 5_000, 10_000)),
    ],
)
def test_ticks_are_round_and_reach_the_highest(highest, ticks):
    assert axis_to(highest).ticks == ticks


@given(st.integers(1, 10**9))
def test_no_axis_is_longer_than_it_must_be(highest):
    axis = axis_to(highest)
    assert axis.top - axis.step < highest <= axis.top
    assert len(axis.ticks) <= MOST_STEPS + 1


@pytest.mark.parametrize("highest", [0, -5])
def test_nothing_has_no_axis(highest):
    with pytest.raises(ValueError, match="above 0"):
        axis_to(highest)


def test_a_length_is_in_proportion_and_something_is_always_seen():
    axis = axis_to(1_000)
    assert [axis.length(amount, 100) for amount in (0, 1, 250, 1_000)] == [0, 1, 25, 100]
