"""Figures of waste, worked out by hand."""

from fractions import Fraction

import pytest

from planning.waste import WasteFigures


def test_share_is_of_what_was_opened():
    """Two syringes of 1 mL, 0.05 mL left over and 0.03 mL spilled: 0.08 of 2."""
    figures = WasteFigures(opened=2, content=2_000, left_over=50, otherwise=30)
    assert figures.wasted == 80
    assert figures.share == Fraction(1, 25)


def test_without_an_opened_unit_there_is_no_share():
    assert WasteFigures(otherwise=30).share is None


def test_what_was_opened_before_can_pass_the_whole():
    assert WasteFigures(opened=1, content=100, otherwise=250).share == Fraction(5, 2)


def test_months_of_one_product_are_added():
    one = WasteFigures(opened=1, content=1_000, left_over=50)
    other = WasteFigures(opened=2, content=2_000, otherwise=7)
    assert one + other == WasteFigures(opened=3, content=3_000, left_over=50, otherwise=7)


def test_a_figure_below_zero_is_refused():
    with pytest.raises(ValueError, match="below 0"):
        WasteFigures(left_over=-1)
