"""
Rows and lanes of the diary.

Days on which the clocks change: Europe/London in 2026 and 2027, as the IANA time zone database has
them (by way of Python's zoneinfo); the moments are worked out by hand from UTC.
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.diary_grid import (
    ROWS_A_DAY,
    ClockChange,
    Lane,
    Rows,
    clock_change,
    clock_of,
    hours_of,
    in_hours,
    joined,
    lanes_of,
    past_rows,
    row_of,
    rows_of,
    rows_on,
    shown_rows,
    without,
)

LONDON = ZoneInfo("Europe/London")
spans = st.tuples(st.integers(0, 40), st.integers(1, 12)).map(lambda at: Rows(at[0], sum(at)))


def at(text: str) -> datetime:
    """By the clock of London; the moment itself is kept in UTC, as the diary stores it."""
    return datetime.fromisoformat(text).replace(tzinfo=LONDON).astimezone(UTC).astimezone(LONDON)


@pytest.mark.parametrize(
    ("clock", "row"), [("00:00", 0), ("09:00", 108), ("09:04", 108), ("09:05", 109)]
)
def test_a_time_of_day_has_a_row(clock, row):
    assert row_of(time.fromisoformat(clock)) == row


def test_a_row_is_said_by_the_clock():
    assert [clock_of(row) for row in (0, 109, 287, 288)] == ["00:00", "09:05", "23:55", "24:00"]


@pytest.mark.parametrize(
    ("minutes", "words"), [(200, "3 h 20 min"), (180, "3 h"), (20, "20 min"), (0, "0 min")]
)
def test_free_time_is_said_in_hours(minutes, words):
    assert in_hours(minutes) == words


@pytest.mark.parametrize(
    ("minutes", "around", "rows"),
    [
        (30, {}, Rows(120, 126)),
        (30, {"before": 5, "after": 10}, Rows(119, 128)),
        (7, {}, Rows(120, 122)),  # a started row counts whole
        (1000, {}, Rows(120, ROWS_A_DAY)),  # what runs past midnight ends with the day
    ],
)
def test_a_visit_takes_rows(minutes, around, rows):
    assert rows_of(at("2026-12-01 10:00"), minutes, **around) == rows


def test_preparation_before_midnight_is_cut():
    assert rows_of(at("2026-12-01 00:05"), 10, before=15) == Rows(0, 3)


def test_rows_beyond_a_day_are_refused():
    with pytest.raises(ValueError, match="from 280 to 300"):
        Rows(280, 300)


@pytest.mark.parametrize(
    ("start", "end", "rows"),
    [
        ("2026-11-30 09:00", "2026-12-03 09:00", Rows(0, ROWS_A_DAY)),
        ("2026-11-30 09:00", "2026-12-01 10:00", Rows(0, 120)),
        ("2026-12-01 13:00", "2026-12-02 00:00", Rows(156, ROWS_A_DAY)),
        ("2026-12-02 00:00", "2026-12-03 00:00", Rows(0, 0)),
    ],
)
def test_leave_of_several_days_covers_its_part_of_each(start, end, rows):
    assert rows_on(date(2026, 12, 1), at(start), at(end)) == rows


@pytest.mark.parametrize(
    ("now", "rows"),
    [
        ("2026-11-30 23:59", Rows(0, 0)),
        ("2026-12-01 00:00", Rows(0, 0)),
        ("2026-12-01 10:00", Rows(0, 120)),
        ("2026-12-01 10:01", Rows(0, 121)),
        ("2026-12-01 23:59", Rows(0, 288)),
        ("2026-12-02 00:00", Rows(0, 288)),
    ],
)
def test_what_has_begun_is_over(now, rows):
    assert past_rows(date(2026, 12, 1), datetime.fromisoformat(now)) == rows


def test_the_day_stretches_to_what_is_booked_in_full_hours():
    hours, early, late = Rows(108, 204), Rows(93, 96), Rows(210, 217)
    assert shown_rows(hours) == Rows(108, 204)
    assert shown_rows(hours, early, late) == Rows(84, 228)
    assert hours_of(Rows(108, 133)) == [108, 120, 132]


def test_a_day_without_hours_and_visits_is_a_plain_one():
    assert shown_rows(Rows(0, 0)) == Rows(108, 204)


def test_what_touches_is_one_stretch():
    assert joined([Rows(6, 9), Rows(0, 3), Rows(3, 6), Rows(20, 20)]) == [Rows(0, 9)]


def test_free_time_is_what_visits_leave_of_the_hours():
    hours = [Rows(0, 12), Rows(18, 30)]
    assert without(hours, [Rows(10, 20), Rows(24, 26)]) == [
        Rows(0, 10), Rows(20, 24), Rows(26, 30),
    ]  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(spans, max_size=6), st.lists(spans, max_size=6))
def test_what_is_left_and_what_is_taken_make_the_whole(whole, taken):
    def rows(of):
        return {row for span in of for row in range(span.first, span.end)}

    left = without(whole, taken)
    assert rows(left) == rows(whole) - rows(taken)
    assert sum(span.count for span in left) == len(rows(left))


def test_visits_one_after_another_have_the_whole_width():
    assert lanes_of([Rows(0, 6), Rows(6, 12)]) == [Lane(0, 1), Lane(0, 1)]


def test_three_that_overlap_in_a_chain_share_two_lanes():
    chain = [Rows(0, 6), Rows(4, 10), Rows(8, 14), Rows(14, 16)]
    assert lanes_of(chain) == [Lane(0, 2), Lane(1, 2), Lane(0, 2), Lane(0, 1)]


@settings(max_examples=60, deadline=None)
@given(st.lists(spans, max_size=12))
def test_no_visit_covers_another(booked):
    lanes = lanes_of(booked)
    for index, (one, lane) in enumerate(zip(booked, lanes, strict=True)):
        assert lane.number < lane.lanes
        for other, its in zip(booked[:index], lanes[:index], strict=True):
            if one.first < other.end and other.first < one.end:
                assert lane.number != its.number
                assert lane.lanes == its.lanes


@pytest.mark.parametrize(
    ("day", "change"),
    [
        (date(2026, 10, 25), ClockChange(Rows(12, 24), is_gap=False)),  # 01:00 to 02:00 twice
        (date(2027, 3, 28), ClockChange(Rows(12, 24), is_gap=True)),  # no 01:00 to 02:00
        (date(2026, 10, 24), None),
        (date(2026, 12, 1), None),
    ],
)
def test_the_day_of_25_and_of_23_hours_name_their_rows(day, change):
    assert clock_change(day, LONDON) == change


@pytest.mark.parametrize(
    ("start", "wall_clock"),
    [("2026-10-24 15:00", "14:00"), ("2027-03-27 15:00", "16:00")],
)
def test_24_hours_later_is_another_row_across_the_change(start, wall_clock):
    later = (at(start).astimezone(UTC) + timedelta(hours=24)).astimezone(LONDON)
    assert clock_of(rows_of(later, 30).first) == wall_clock


def test_ten_o_clock_stands_at_the_same_height_on_every_day():
    days = ("2026-10-24", "2026-10-25", "2027-03-28")
    assert {rows_of(at(f"{day} 10:00"), 30) for day in days} == {Rows(120, 126)}


def test_both_visits_of_the_hour_that_happens_twice_are_seen():
    """00:30 and 01:30 UTC are both 01:30 by the clock of 25 October 2026."""
    both = [datetime(2026, 10, 25, hour, 30, tzinfo=UTC).astimezone(LONDON) for hour in (0, 1)]
    rows = [rows_of(moment, 20) for moment in both]
    assert rows == [Rows(18, 22), Rows(18, 22)]
    assert lanes_of(rows) == [Lane(0, 2), Lane(1, 2)]
