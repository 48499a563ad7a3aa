"""Where the marks of a fridge's chart stand. Values by hand, from the size of the box."""

from datetime import UTC, datetime, timedelta

import pytest

from planning.temperature_chart import HEIGHT, WIDTH, Chart, ChartError, draw
from planning.temperatures import Reading

START = datetime(2026, 11, 1, 6, 0, tzinfo=UTC)
END = START + timedelta(days=30)


def chart(*readings: Reading) -> Chart:
    return draw(readings, lowest=20, highest=80, start=START, end=END)


def test_first_and_last_moment_stand_at_the_ends_of_the_box() -> None:
    drawn = chart(Reading(START, 50), Reading(START + timedelta(days=15), 50), Reading(END, 50))
    assert [mark.x for mark in drawn.marks] == [drawn.left, 506, drawn.right]
    assert drawn.line == f"{drawn.left},140 506,140 {drawn.right},140"


def test_warmer_stands_higher_and_the_range_between_its_ends() -> None:
    drawn = chart(Reading(START, 80), Reading(END, 20))
    warm, cold = drawn.marks
    assert (warm.y, cold.y) == (drawn.warm_y, drawn.cold_y)
    assert drawn.warm_y < drawn.cold_y
    assert drawn.band == drawn.cold_y - drawn.warm_y > 0


def test_both_ends_of_the_range_are_in_range() -> None:
    assert [mark.shape for mark in chart(Reading(START, 20), Reading(END, 80)).marks] == ["", ""]


def test_out_of_range_has_a_shape_of_its_own_that_points_to_where_it_lies() -> None:
    drawn = chart(
        Reading(START, 81),
        Reading(START + timedelta(days=1), 19),
        Reading(START + timedelta(days=2), 50, coldest=10, warmest=60),
        Reading(START + timedelta(days=3), 50, coldest=40, warmest=95),
    )
    tips = []
    for mark in drawn.marks:
        *base, tip = [tuple(map(int, corner.split(","))) for corner in mark.shape.split()]
        assert base[0][1] == base[1][1]
        tips.append("up" if tip[1] < base[0][1] else "down")
    assert tips == ["up", "down", "down", "up"]
    assert [(mark.is_cold, mark.is_warm) for mark in drawn.marks] == [
        (False, True), (True, False), (True, False), (False, True),
    ]  # fmt: skip


def test_the_memory_of_the_thermometer_spans_from_its_lowest_to_its_highest() -> None:
    (mark,) = chart(Reading(START, 50, coldest=20, warmest=80)).marks
    drawn = chart(Reading(START, 50, coldest=20, warmest=80))
    assert (mark.top, mark.bottom) == (drawn.warm_y, drawn.cold_y)


@pytest.mark.parametrize("extreme", [-1_000, 1_000])
def test_everything_stays_inside_the_box(extreme: int) -> None:
    drawn = chart(Reading(START, extreme), Reading(END, 50))
    for mark in drawn.marks:
        assert drawn.left <= mark.x <= drawn.right <= WIDTH
        assert 0 < mark.top <= mark.bottom < drawn.bottom < HEIGHT
    assert 0 < drawn.warm_y < drawn.cold_y < drawn.bottom


def test_readings_of_other_days_are_left_out() -> None:
    before, after = START - timedelta(seconds=1), END + timedelta(seconds=1)
    assert chart(Reading(before, 50), Reading(after, 50)).marks == ()


def test_days_are_marked_at_midnight_evenly_and_the_last_one_among_them() -> None:
    ticks = chart().ticks
    assert [f"{tick.at:%d %H:%M}" for tick in ticks] == [
        "06 00:00", "11 00:00", "16 00:00", "21 00:00", "26 00:00", "01 00:00",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("lowest", "highest", "end"), [(80, 80, END), (90, 80, END), (20, 80, START)]
)
def test_no_range_or_no_time_is_no_chart(lowest: int, highest: int, end: datetime) -> None:
    with pytest.raises(ChartError):
        draw([], lowest=lowest, highest=highest, start=START, end=end)
