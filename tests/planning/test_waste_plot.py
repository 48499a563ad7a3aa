"""Where the bars of a plot of waste stand. By hand, on the axis 0 to 200 microlitres."""

from datetime import date

import pytest

from planning.plot_axis import axis_to
from planning.vocabulary import Measure
from planning.waste import WasteFigures
from planning.waste_plot import BOTTOM, LEFT, RIGHT, TOP, MonthWaste, waste_plot

AXIS = axis_to(200)


def months(*figures: WasteFigures, year: int = 2026) -> list[MonthWaste]:
    return [
        MonthWaste(date(year + number // 12, number % 12 + 1, 1), each)
        for number, each in enumerate(figures)
    ]


def plot_of(*figures: WasteFigures, measure: Measure = Measure.VOLUME):
    return waste_plot(months(*figures), AXIS, measure)


def test_what_was_left_over_is_the_foot_and_the_rest_stands_on_it():
    (bar,) = plot_of(WasteFigures(left_over=100, otherwise=100)).bars
    middle = (TOP + BOTTOM) // 2
    assert (bar.foot_y, bar.foot_y + bar.foot_height) == (middle, BOTTOM)
    assert (bar.rest_y, bar.rest_y + bar.rest_height) == (TOP, middle)
    assert bar.words == "January 2026: 0.1 mL left over, 0.1 mL otherwise"


def test_a_month_without_waste_keeps_its_place_and_has_no_bar():
    plot = plot_of(WasteFigures(left_over=20), WasteFigures(opened=3), WasteFigures(otherwise=20))
    assert [bar.words for bar in plot.bars] == [
        "January 2026: 0.02 mL left over",
        "March 2026: 0.02 mL otherwise",
    ]
    assert plot.bars[1].x - plot.bars[0].x == pytest.approx((RIGHT - LEFT) * 2 / 3, abs=2)


def test_scale_is_written_in_the_unit_of_the_product():
    volume = plot_of(WasteFigures(left_over=200))
    assert [tick.text for tick in volume.y_ticks] == ["0", "0.1", "0.2"]
    dose = plot_of(WasteFigures(left_over=200), measure=Measure.DOSE)
    assert [tick.text for tick in dose.y_ticks] == ["0", "1", "2"]


def test_three_years_fit_and_a_few_months_are_named():
    plot = plot_of(*[WasteFigures(left_over=200)] * 37)
    assert plot.bars[0].x >= LEFT
    assert plot.bars[-1].x + plot.bar_width <= RIGHT
    gaps = [later.x - one.x for one, later in zip(plot.bars, plot.bars[1:], strict=False)]
    assert min(gaps) >= plot.bar_width
    assert [tick.text for tick in plot.x_ticks] == ["Jan 26", "Nov 26", "Sep 27", "Jul 28"]


def test_what_cannot_be_drawn_is_refused():
    with pytest.raises(ValueError, match="needs a month"):
        waste_plot([], AXIS, Measure.VOLUME)
    with pytest.raises(ValueError, match="too short"):
        plot_of(WasteFigures(left_over=201))
