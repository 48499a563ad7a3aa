"""Stretches of days. Expected days from the calendar."""

from datetime import date

import pytest

from planning.stretches import Span, Stretch, around, latest, months_after


@pytest.mark.parametrize(
    ("span", "first", "last", "key", "label"),
    [
        (Span.MONTH, date(2028, 2, 1), date(2028, 2, 29), "2028-02", "February 2028"),
        (Span.QUARTER, date(2028, 1, 1), date(2028, 3, 31), "2028-Q1", "January to March 2028"),
        (Span.YEAR, date(2028, 1, 1), date(2028, 12, 31), "2028", "2028"),
    ],
)
def test_the_calendar_has_a_stretch_around_a_day(span, first, last, key, label):
    stretch = around(date(2028, 2, 29), span)
    assert (stretch.first, stretch.last) == (first, last)
    assert (stretch.key, stretch.label) == (key, label)


@pytest.mark.parametrize(
    ("stretch", "first", "last"),
    [
        (around(date(2027, 1, 5), Span.MONTH), date(2026, 12, 1), date(2026, 12, 31)),
        (around(date(2028, 3, 31), Span.MONTH), date(2028, 2, 1), date(2028, 2, 29)),
        (around(date(2027, 2, 5), Span.QUARTER), date(2026, 10, 1), date(2026, 12, 31)),
        (around(date(2027, 2, 5), Span.YEAR), date(2026, 1, 1), date(2026, 12, 31)),
        # Seven days have seven before them, of whatever month.
        (Stretch(date(2027, 3, 2), date(2027, 3, 8)), date(2027, 2, 23), date(2027, 3, 1)),
    ],
)
def test_the_days_before_are_of_the_same_kind(stretch, first, last):
    before = stretch.before()
    assert (before.first, before.last, before.span) == (first, last, stretch.span)


def test_days_of_choice_are_named_in_words():
    assert Stretch(date(2027, 3, 2), date(2027, 3, 8)).label == "2 March 2027 to 8 March 2027"
    assert Stretch(date(2027, 3, 2), date(2027, 3, 8)).key == "2027-03-02..2027-03-08"


def test_the_latest_come_first():
    assert [one.key for one in latest(date(2027, 1, 5), Span.MONTH, 3)] == [
        "2027-01", "2026-12", "2026-11",
    ]  # fmt: skip


def test_months_are_counted_over_the_turn_of_the_year():
    assert months_after(date(2026, 11, 1), 3) == date(2027, 2, 1)
    assert months_after(date(2026, 2, 1), -3) == date(2025, 11, 1)


def test_impossible_stretches_are_refused():
    with pytest.raises(ValueError, match="before the first"):
        Stretch(date(2027, 3, 2), date(2027, 3, 1))
    with pytest.raises(ValueError, match="around no day"):
        around(date(2027, 3, 2), Span.DAYS)
