"""A patient's amounts as small plots: what may share one, and where the marks stand. By hand."""

from datetime import date, timedelta

import pytest

from planning.region_plots import BOTTOM, LEFT, RIGHT, TOP, Given, region_plots
from planning.totals import AmountsDoNotAddError
from planning.vocabulary import Measure, Side

SPRING, AUTUMN = date(2025, 3, 3), date(2026, 11, 3)


def given(amount: int, **fields) -> Given:
    return Given(
        **{
            "session": 1, "day": SPRING, "kind": "filler", "kind_label": "Fillers",
            "measure": Measure.VOLUME, "region": "temple", "region_label": "Temporal region",
            "side": Side.LEFT, "amount": amount,
        }
        | fields
    )  # fmt: skip


def toxin(amount: int, product: str, **fields) -> Given:
    named = {"kind": product, "kind_label": product, "measure": Measure.DOSE}
    return given(amount, **named | fields)


def test_nothing_given_has_no_plot():
    assert region_plots([]) == ()


def test_fillers_and_each_toxin_are_never_added_together():
    kinds = region_plots([given(500), given(300), toxin(2_000, "T one"), toxin(1_000, "T two")])
    assert [(kind.label, kind.measure, kind.total) for kind in kinds] == [
        ("Fillers", Measure.VOLUME, 800),
        ("T one", Measure.DOSE, 2_000),
        ("T two", Measure.DOSE, 1_000),
    ]


def test_one_kind_in_two_measures_is_refused():
    with pytest.raises(AmountsDoNotAddError, match="two measures"):
        region_plots([given(500), given(500, measure=Measure.DOSE)])


def test_regions_share_one_scale_so_that_twice_as_much_stands_twice_as_high():
    chin = {"region": "mental", "region_label": "Mental region"}
    (kind,) = region_plots([given(1_000), given(500, **chin)])
    heights = {plot.region: BOTTOM - plot.sides[0].marks[0].y for plot in kind.plots}
    assert heights == {"temple": BOTTOM - TOP, "mental": (BOTTOM - TOP) // 2}
    assert [tick.text for tick in kind.y_ticks] == ["0", "0.5", "1"]


def test_points_of_one_session_and_side_are_one_mark_and_another_side_another():
    (kind,) = region_plots([given(200), given(300), given(400, side=Side.RIGHT)])
    (plot,) = kind.plots
    assert [(series.side, series.total) for series in plot.sides] == [
        (Side.RIGHT, 400),
        (Side.LEFT, 500),
    ]
    assert plot.sides[1].marks[0].words == "Left, 3 Mar 2025: 0.5 mL"
    assert plot.sides[0].marks[0].x > plot.sides[1].marks[0].x
    assert dict(plot.by_side) == {Side.RIGHT: 400, Side.LEFT: 500, Side.MIDLINE: 0}


def test_one_session_stands_in_the_middle_without_a_line():
    (kind,) = region_plots([given(200, side=Side.MIDLINE)])
    (series,) = kind.plots[0].sides
    assert series.marks[0].x == (LEFT + RIGHT) // 2
    assert series.line == ""
    assert [tick.text for tick in kind.x_ticks] == ["3 Mar 2025"]


def test_time_runs_from_the_first_session_of_all_kinds_to_the_last():
    kinds = region_plots([
        given(200), given(300, session=2, day=AUTUMN), toxin(500, "T", session=3, day=AUTUMN),
    ])  # fmt: skip
    filler, dose = kinds
    assert [tick.text for tick in filler.x_ticks] == ["3 Mar 2025", "3 Nov 2026"]
    assert filler.x_ticks == dose.x_ticks
    (series,) = filler.plots[0].sides
    assert LEFT < series.marks[0].x < series.marks[1].x < RIGHT
    assert dose.plots[0].sides[0].marks[0].x == series.marks[1].x
    assert (filler.plots[0].last_day, filler.plots[0].last) == (AUTUMN, 300)


def test_two_sessions_on_one_day_stay_two():
    (kind,) = region_plots([given(200), given(300, session=2)])
    (plot,) = kind.plots
    assert plot.sessions == 2
    assert len(plot.sides[0].marks) == 2
    assert plot.last == 300
    assert not plot.is_crowded


def test_the_region_that_got_most_comes_first():
    (kind,) = region_plots([given(200), given(900, region="mental", region_label="Mental region")])
    assert [plot.label for plot in kind.plots] == ["Mental region", "Temporal region"]


def test_three_hundred_sessions_stay_inside_the_drawing():
    rows = [
        given(100 + number, session=number, day=SPRING + timedelta(days=7 * number), side=side)
        for number in range(300)
        for side in (Side.LEFT, Side.RIGHT)
    ]
    (kind,) = region_plots(reversed(rows))
    assert kind.plots[0].is_crowded
    for series in kind.plots[0].sides:
        assert series.sessions == 300
        assert all(LEFT <= mark.x <= RIGHT and TOP <= mark.y <= BOTTOM for mark in series.marks)
        assert [mark.x for mark in series.marks] == sorted(mark.x for mark in series.marks)


def test_an_amount_of_nothing_is_refused():
    with pytest.raises(ValueError, match="above 0"):
        given(0)
