"""Where a timeline puts its dots and bars. Places by hand, in per cent of the width."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.timeline import Bar, BarKind, Dot, Lane, TimelineError, draw

DAYS = st.dates(date(2024, 1, 1), date(2030, 12, 31))


def test_days_stand_where_they_fall_between_the_first_and_the_last() -> None:
    # 14 days of margin on both sides of 72 days: 100 days in all.
    first = date(2026, 1, 1)
    lane = Lane(
        "Reviews",
        (Dot(first, "first"), Dot(first + timedelta(days=72), "last", is_open=True)),
        (Bar(first, first + timedelta(days=36), BarKind.WINDOW, "suits"),),
    )
    drawing = draw([lane], today=first + timedelta(days=36))
    (drawn,) = drawing.lanes
    assert [dot.x for dot in drawn.dots] == ["14.0%", "86.0%"]
    assert [(bar.x, bar.width, bar.kind) for bar in drawn.bars] == [("14.0%", "36.0%", "window")]
    assert drawing.today_x == "50.0%"
    assert [str(tick.day) for tick in drawing.ticks] == ["2026-01-01", "2026-02-01", "2026-03-01"]


def test_a_bar_of_one_day_is_seen() -> None:
    day = date(2026, 1, 1)
    drawing = draw([Lane("Reviews", bars=(Bar(day, day, BarKind.WINDOW, ""),))], today=day)
    assert drawing.lanes[0].bars[0].width == "0.6%"


def test_nothing_is_no_timeline() -> None:
    with pytest.raises(TimelineError):
        draw([Lane("Sessions")], today=date(2026, 1, 1))


def test_a_bar_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(TimelineError):
        Bar(date(2026, 1, 2), date(2026, 1, 1), BarKind.FADING, "")


@given(st.lists(DAYS, min_size=1, max_size=6), DAYS)
def test_everything_lies_within_the_drawing(days: list[date], today: date) -> None:
    lanes = [
        Lane("Sessions", tuple(Dot(day, "") for day in days)),
        Lane("Filler", bars=(Bar(min(days), max(days), BarKind.EFFECT, ""),)),
    ]
    drawing = draw(lanes, today=today)

    def number(text: str) -> float:
        return float(text.rstrip("%"))

    places = [number(dot.x) for lane in drawing.lanes for dot in lane.dots]
    ends = [number(bar.x) + number(bar.width) for lane in drawing.lanes for bar in lane.bars]
    assert all(0 <= place <= 100 for place in [*places, *ends, number(drawing.today_x)])
    assert len(drawing.ticks) <= 4
    assert [lane.top for lane in drawing.lanes] == [0, 50]
    assert drawing.height > drawing.axis_y == 100
