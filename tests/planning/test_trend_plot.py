"""A figure month by month: where marks, ranges and lines stand."""

from datetime import date

import pytest

from planning.trend_plot import BOTTOM, LEFT, RIGHT, TOP, MonthValue, trend_plot


def months(*values, asked=()) -> list[MonthValue]:
    return [
        MonthValue(date(2026, number + 1, 1), value, is_asked=number in asked, words=str(value))
        for number, value in enumerate(values)
    ]


def test_the_scale_reaches_the_highest_end_of_a_range():
    plot = trend_plot([MonthValue(date(2026, 1, 1), 10.0, 4.0, 20.0)], unit=" %")
    assert [tick.text for tick in plot.y_ticks] == ["0 %", "10 %", "20 %"]
    [mark] = plot.marks
    assert (mark.y, mark.high_y) == ((TOP + BOTTOM) // 2, TOP)
    assert mark.low_y == BOTTOM - round(4 * (BOTTOM - TOP) / 20)
    assert mark.x == (LEFT + RIGHT) // 2


def test_the_line_breaks_where_too_little_is_known():
    plot = trend_plot(months(1.0, 2.0, None, 3.0, None, 4.0, 5.0))
    assert len(plot.marks) == 5
    assert [len(line.split()) for line in plot.lines] == [2, 2]


def test_the_band_stands_under_the_months_asked_for():
    plot = trend_plot(months(1.0, 1.0, 1.0, 1.0, asked=(2, 3)))
    assert plot.band == ((LEFT + RIGHT) // 2, (RIGHT - LEFT) // 2)
    assert [mark.is_asked for mark in plot.marks] == [False, False, True, True]
    assert trend_plot(months(1.0)).band is None


def test_the_last_month_is_named_and_no_more_than_four_are():
    plot = trend_plot(months(*[1.0] * 12))
    assert [tick.text for tick in plot.x_ticks] == ["Dec 26", "Sep 26", "Jun 26", "Mar 26"]


def test_months_without_a_value_make_an_empty_plot():
    plot = trend_plot(months(None, None))
    assert (plot.marks, plot.lines) == ((), ())
    assert [tick.text for tick in plot.y_ticks] == ["0", "1"]


def test_what_cannot_be_drawn_is_refused():
    with pytest.raises(ValueError, match="needs a month"):
        trend_plot([])
    with pytest.raises(ValueError, match="below 0"):
        trend_plot(months(-1.0))
