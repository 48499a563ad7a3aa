"""
Waiting times against a published example and against scipy's own Kaplan-Meier estimate.

Example: Freireich et al., Blood 1963;21:699-716, weeks of remission of 21 patients under
6-mercaptopurine, the textbooks' standing example; its estimate from memory: 0.857, 0.807, 0.753,
0.690, 0.627, 0.538, 0.448, median 23 weeks.
"""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import CensoredData, ecdf

from planning.waiting_times import Wait, reached_by, survival, waiting_times

ENDED = (6, 6, 6, 7, 10, 13, 16, 22, 23)
GOING_ON = (6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)
REMISSIONS = [
    *(Wait(weeks, has_happened=True) for weeks in ENDED),
    *(Wait(weeks, has_happened=False) for weeks in GOING_ON),
]


def test_the_published_example():
    curve = survival(REMISSIONS)
    assert [week for week, _ in curve] == [6, 7, 10, 13, 16, 22, 23]
    assert [round(float(share), 3) for _, share in curve] == [
        0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448,
    ]  # fmt: skip
    found = waiting_times(REMISSIONS)
    assert (found.median, found.known, found.waiting) == (23, 9, 12)
    # Three quarters never came so far.
    assert found.quartiles == (13, 23, None)


WAITS = st.lists(
    st.builds(Wait, days=st.integers(0, 60), has_happened=st.booleans()), min_size=1, max_size=60
)


@settings(max_examples=50)
@given(WAITS)
def test_any_waits_as_scipy_has_them(waits):
    known = [wait.days for wait in waits if wait.has_happened]
    open_ones = [wait.days for wait in waits if not wait.has_happened]
    expected = ecdf(CensoredData(uncensored=known, right=open_ones)).sf
    curve = dict(survival(waits))
    assert set(curve) == set(known)
    for day, share in zip(expected.quantiles, expected.probabilities, strict=True):
        if day in curve:
            assert float(curve[day]) == pytest.approx(share)


@given(st.lists(st.integers(0, 60), min_size=1, max_size=60))
def test_without_anybody_waiting_it_is_the_plain_order(days):
    """The first day by which at least half of them have come."""
    found = waiting_times([Wait(count, has_happened=True) for count in days])
    ordered = sorted(days)
    assert found.median == ordered[(len(ordered) + 1) // 2 - 1]
    assert found.waiting == 0


def test_leaving_the_waiting_out_would_look_shorter():
    waits = [Wait(days, has_happened=True) for days in (10, 12, 14)]
    still = [Wait(20, has_happened=False)] * 3
    assert waiting_times(waits).median == 12
    assert waiting_times([*waits, *still]).median == 14


def test_nothing_reaches_nothing():
    assert survival([]) == []
    assert reached_by([], Fraction(1, 2)) is None
    assert waiting_times([]).quartiles == (None, None, None)


def test_nobody_waits_less_than_no_days():
    with pytest.raises(ValueError, match="-1 days"):
        Wait(-1, has_happened=True)
