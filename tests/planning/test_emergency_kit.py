"""
Whether the kit is there and in date. Worked by hand; that emergencies have to be provided for:
Medical Board of Australia, guidelines of 2016. How much is enough has no source here: the clinic
says it.
"""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.emergency_kit import Batch, KitError, KitState, kept_by_hand, kit_cover

TODAY = date(2026, 12, 1)


def batch(days: int, amount: int) -> Batch:
    return Batch(TODAY + timedelta(days=days), amount)


@pytest.mark.parametrize(
    ("batches", "on_hand", "short_by", "covered_days", "state"),
    [
        ([], 0, 1_500, None, KitState.MISSING),
        ([batch(400, 1_499)], 1_499, 1, None, KitState.MISSING),
        ([batch(400, 1_500)], 1_500, 0, 400, KitState.READY),
        # The printed day itself is usable, the day after is not.
        ([batch(0, 1_500)], 1_500, 0, 0, KitState.RUNS_OUT),
        ([batch(-1, 1_500)], 0, 1_500, None, KitState.MISSING),
        # What expires first is no loss while the later lots are enough.
        ([batch(5, 750), batch(300, 1_500)], 2_250, 0, 300, KitState.READY),
        ([batch(45, 750), batch(300, 750)], 1_500, 0, 45, KitState.RUNS_OUT),
        # Sixty days ahead are pointed out, sixty-one are not.
        ([batch(60, 1_500)], 1_500, 0, 60, KitState.RUNS_OUT),
        ([batch(61, 1_500)], 1_500, 0, 61, KitState.READY),
    ],
)
def test_the_shelf_is_held_against_the_minimum(batches, on_hand, short_by, covered_days, state):
    cover = kit_cover(minimum=1_500, batches=batches, today=TODAY, warning_days=60)
    until = None if covered_days is None else TODAY + timedelta(days=covered_days)
    assert (cover.on_hand, cover.short_by, cover.covered_until, cover.state) == (
        on_hand, short_by, until, state,
    )  # fmt: skip


@given(
    st.integers(1, 3_000),
    st.lists(st.builds(batch, st.integers(-30, 500), st.integers(0, 900)), max_size=8),
)
def test_on_the_last_day_it_is_enough_and_on_the_next_it_is_not(minimum, batches):
    cover = kit_cover(minimum=minimum, batches=batches, today=TODAY, warning_days=60)

    def left_on(day: date) -> int:
        return sum(one.amount for one in batches if one.expires_on >= day)

    if cover.covered_until is None:
        assert left_on(TODAY) < minimum
    else:
        assert left_on(cover.covered_until) >= minimum
        assert left_on(cover.covered_until + timedelta(days=1)) < minimum


@pytest.mark.parametrize(
    ("expires_in", "state"),
    [
        (None, KitState.BY_HAND),
        (-1, KitState.MISSING),
        (0, KitState.RUNS_OUT),
        (60, KitState.RUNS_OUT),
        (61, KitState.READY),
    ],
)
def test_what_is_in_no_book_goes_by_its_expiry(expires_in, state):
    day = None if expires_in is None else TODAY + timedelta(days=expires_in)
    assert kept_by_hand(expires_on=day, today=TODAY, warning_days=60) is state


@pytest.mark.parametrize(
    ("minimum", "batches", "days"), [(0, [], 60), (1, [], -1), (1, [batch(1, -1)], 60)]
)
def test_what_cannot_be_is_refused(minimum, batches, days):
    with pytest.raises(KitError):
        kit_cover(minimum=minimum, batches=batches, today=TODAY, warning_days=days)
