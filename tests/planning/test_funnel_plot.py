"""Where lines, marks and labels stand. Expected places are worked out by hand from the scales."""

from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.funnel import Verdict, judge
from planning.funnel_plot import (
    BOTTOM,
    LEFT,
    LETTER_WIDTH,
    LINE_HEIGHT,
    RIGHT,
    TOP,
    FunnelPlot,
    Label,
    PlotLot,
    funnel_plot,
)


def lots(*counts: tuple[int, int], rate: float) -> list[PlotLot]:
    return [
        PlotLot(f"L{number}", events, treated, judge(events, treated, rate))
        for number, (events, treated) in enumerate(counts, start=1)
    ]


def plot(*counts: tuple[int, int], rate: float = 0.01) -> FunnelPlot:
    return funnel_plot(lots(*counts, rate=rate), rate)


# Three of twenty at 1 % lies beyond 99.8 %, one of twenty is never a signal.
CLUSTER = plot((3, 20), (1, 20), (0, 100))


def test_three_of_twenty_stands_out_and_one_of_twenty_does_not() -> None:
    verdicts = {mark.names: mark.verdict for mark in CLUSTER.marks}
    assert verdicts["L1: 3 of 20"] == Verdict.BEYOND_998
    assert verdicts["L2: 1 of 20"] == Verdict.INSIDE
    assert [label.text for label in CLUSTER.labels] == ["L1"]


def test_both_axes_go_in_whole_steps_from_nothing() -> None:
    assert [tick.text for tick in CLUSTER.x_ticks] == ["0", "20", "40", "60", "80", "100"]
    assert [tick.text for tick in CLUSTER.y_ticks] == ["0 %", "5 %", "10 %", "15 %", "20 %"]
    assert (CLUSTER.x_ticks[0].at, CLUSTER.x_ticks[-1].at) == (LEFT, RIGHT)
    assert (CLUSTER.y_ticks[0].at, CLUSTER.y_ticks[-1].at) == (BOTTOM, TOP)


def test_a_lot_stands_at_its_size_and_its_share() -> None:
    cluster = next(mark for mark in CLUSTER.marks if mark.names.startswith("L1:"))
    # 20 of 100 patients across, 15 of 20 % upwards.
    assert cluster.x == pytest.approx(LEFT + (RIGHT - LEFT) * 0.2, abs=0.1)
    assert cluster.y == pytest.approx(BOTTOM - (BOTTOM - TOP) * 0.75, abs=0.1)
    assert pytest.approx(BOTTOM - (BOTTOM - TOP) * 0.05, abs=0.1) == CLUSTER.pooled_y


def test_a_limit_below_nothing_is_not_drawn() -> None:
    """At 1 % even a lot of 100 has no lower limit (-), and both upper ones."""
    assert [line.kind for line in CLUSTER.lines] == ["95", "998"]
    assert [end.text for end in CLUSTER.line_ends] == ["99.8 %", "95 %", "all lots"]


def test_large_lots_have_lower_limits_too() -> None:
    kinds = [line.kind for line in plot((50, 5_000), (40, 5_000)).lines]
    assert sorted(set(kinds)) == ["95", "998"]
    assert len(kinds) == 4


def test_lots_of_the_same_counts_are_one_mark_and_one_label() -> None:
    found = plot((3, 20), (3, 20), (3, 20), (0, 100))
    assert [mark.names for mark in found.marks] == ["L4: 0 of 100", "L1, L2, L3: 3 of 20"]
    assert [label.text for label in found.labels] == ["L1 and 2 more"]


def test_a_small_lot_above_the_scale_is_shown_at_its_edge() -> None:
    found = plot((1, 1), *[(0, 40)] * 9)
    (edge,) = [mark for mark in found.marks if mark.is_off_scale]
    assert (edge.names, edge.verdict, edge.y) == ("L1: 1 of 1", "inside", TOP)


def test_a_label_at_the_right_edge_stands_left_of_its_mark() -> None:
    found = plot((0, 20), (20, 100))
    (label,) = found.labels
    assert label.anchor == "end"
    assert label.x < RIGHT


@pytest.mark.parametrize("counts", [[(0, 1)], [(1, 1)], [(0, 5), (0, 7)], [(5, 5), (7, 7)]])
def test_the_smallest_clinics_have_a_drawing(counts: list[tuple[int, int]]) -> None:
    events, treated = (sum(each) for each in zip(*counts, strict=True))
    found = plot(*counts, rate=events / treated)
    assert found.marks
    assert found.y_ticks[-1].at == TOP


def test_without_a_lot_there_is_nothing_to_draw() -> None:
    with pytest.raises(ValueError, match="needs a lot"):
        funnel_plot([], 0.01)


counted = st.integers(1, 400).flatmap(
    lambda treated: st.tuples(st.integers(0, min(treated, 30)), st.just(treated))
)


@settings(max_examples=60, deadline=None)
@given(st.lists(counted, min_size=1, max_size=40))
def test_everything_stays_in_the_drawing_and_no_text_lies_on_another(
    counts: list[tuple[int, int]],
) -> None:
    events, treated = (sum(each) for each in zip(*counts, strict=True))
    found = plot(*counts, rate=events / treated)
    for mark in found.marks:
        assert LEFT <= mark.x <= RIGHT
        assert TOP <= mark.y <= BOTTOM
    ends = [end.at for end in found.line_ends]
    assert all(later - end >= LINE_HEIGHT - 0.2 for end, later in pairwise(ends))
    assert all(end <= BOTTOM for end in ends)
    spans = [_span(label) for label in found.labels]
    for (first, last, y), (other_first, other_last, other_y) in combinations(spans, 2):
        is_beside = last <= other_first + 0.2 or other_last <= first + 0.2
        assert is_beside or abs(y - other_y) >= LINE_HEIGHT - 0.2


def _span(label: Label) -> tuple[float, float, float]:
    wide = LETTER_WIDTH * len(label.text)
    first = label.x - wide if label.anchor == "end" else label.x
    return first, first + wide, label.y
