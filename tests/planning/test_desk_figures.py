"""The figures of the front desk, worked out by hand; intervals are tested where they are made."""

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import pytest

from planning.desk_figures import (
    Ending,
    Figure,
    ReviewCounts,
    Share,
    VisitCounts,
    ending_of,
    is_late,
)


def test_a_month_by_hand():
    """20 visits of 30 minutes in 20 hours of work, 2 without the patient, 3 cancelled late."""
    month = VisitCounts(
        took_place=18, did_not_attend=2, cancelled_late=3, cancelled_early=4, unmarked=1,
        minutes=540, working_minutes=1200,
    )  # fmt: skip
    assert month.visits == 28
    assert month.utilisation == Fraction(9, 20)
    assert month.no_shows == Share(2, 20)
    assert month.no_shows.rate == Fraction(1, 10)
    assert month.late_cancellations == Share(3, 23)


def test_counts_add_up_and_hours_only_where_there_are_any():
    one, other = VisitCounts(took_place=1, minutes=30), VisitCounts(did_not_attend=2)
    assert (one + other).working_minutes is None
    assert (one + other).utilisation is None
    worked = one + VisitCounts(working_minutes=60)
    assert worked.utilisation == Fraction(1, 2)
    assert one + other == VisitCounts(took_place=1, did_not_attend=2, minutes=30)


def test_below_five_there_is_no_percentage():
    assert Share(1, 4).rate is None
    assert Share(1, 4).interval is None
    assert Share(1, 5).rate == Fraction(1, 5)
    # Wilson 1927 with z = 1.96, worked out by hand: (0.2 + 0.384 ± 0.520) / 1.768.
    interval = Share(1, 5).interval
    assert (round(interval.low, 3), round(interval.high, 3)) == (0.036, 0.624)


def test_a_part_is_no_more_than_the_whole():
    with pytest.raises(ValueError, match="no part"):
        Share(3, 2)


STARTS = datetime(2026, 12, 1, 10, tzinfo=UTC)


@pytest.mark.parametrize(
    ("before", "late"),
    [(timedelta(hours=24), False), (timedelta(hours=23, minutes=59), True), (timedelta(), True),
     (-timedelta(hours=1), True)],
)  # fmt: skip
def test_late_is_less_than_a_day_before(before, late):
    assert is_late(STARTS - before, STARTS) is late


def test_a_moment_nobody_knows_is_not_late():
    assert is_late(None, STARTS) is False


LATEST = date(2026, 12, 20)


@pytest.mark.parametrize(
    ("closed_on", "is_excused", "expected"),
    [
        (LATEST, False, Ending.IN_TIME),
        (date(2026, 12, 21), False, Ending.LATE),
        (None, False, Ending.STILL_OPEN),
        (date(2026, 12, 1), True, Ending.EXCUSED),
    ],
)
def test_how_a_review_ended(closed_on, is_excused, expected):
    assert ending_of(is_excused=is_excused, closed_on=closed_on, latest_on=LATEST) is expected


def test_the_counts_are_named_by_the_endings():
    assert ReviewCounts(**dict.fromkeys(Ending, 1)) == ReviewCounts(1, 1, 1, 1)


def test_excused_reviews_count_on_neither_side():
    counts = ReviewCounts(in_time=6, late=1, still_open=3, excused=5)
    assert counts.in_time_share == Share(6, 10)


def test_each_figure_says_what_it_counts_over_what():
    texts = [(figure.above, figure.below, figure.remark) for figure in Figure]
    assert len(set(texts)) == len(Figure)
    assert all(all(text) for text in texts)
