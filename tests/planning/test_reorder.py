"""
When to order again.

The rule: reorder point = demand in the lead time + safety stock (textbooks of operations
management, read second-hand). The figures of the rows are worked by hand.
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.reorder import ReorderError, reorder, two_places

FIGURES = {"opened": 14, "weeks": 12, "lead_days": 10, "spare_days": 7, "on_hand": 3}


def test_the_formula_is_shown_with_its_figures() -> None:
    # 14 / 12 = 1.1667 a week; 17 days are 2.4286 weeks; 2.8333, rounded up 3.
    advice = reorder(**FIGURES)
    assert advice.per_week == Fraction(7, 6)
    assert (advice.point, advice.on_hand, advice.is_due) == (3, 3, True)
    assert advice.formula == (
        "14 opened in 12 weeks is 1.17 a week; for 10 + 7 days that is 2.83; "
        "order when 3 or fewer are left."
    )


def test_an_order_lasts_some_weeks_beyond_the_point() -> None:
    # 2.8333 + 4 x 1.1667 = 7.5, rounded up 8, less the 3 on hand.
    assert reorder(**FIGURES).order == 5
    # 2.8333 + 0: up to the point itself; something is ordered when it is due.
    assert reorder(**FIGURES, order_lasts_weeks=0).order == 1


def test_above_the_point_nothing_is_due() -> None:
    advice = reorder(**FIGURES | {"on_hand": 4})
    assert (advice.is_due, advice.order) == (False, 0)


def test_a_textbook_example_in_days() -> None:
    # 30 a day for 10 days, no safety stock: 300 (demand in the lead time alone).
    advice = reorder(opened=210, weeks=1, lead_days=10, spare_days=0, on_hand=301)
    assert (advice.per_week, advice.point, advice.is_due) == (210, 300, False)


def test_what_is_not_used_is_not_ordered() -> None:
    advice = reorder(**FIGURES | {"opened": 0, "on_hand": 0})
    assert (advice.point, advice.is_due, advice.order) == (0, False, 0)
    assert advice.formula == "None opened in 12 weeks: no use to order for."


def test_the_sentence_for_one() -> None:
    advice = reorder(opened=1, weeks=1, lead_days=7, spare_days=0, on_hand=0)
    assert advice.formula == (
        "1 opened in 1 week is 1 a week; for 7 + 0 days that is 1; order when 1 or none is left."
    )


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"opened": -1}, "whole numbers from 0"),
        ({"on_hand": 2.5}, "whole numbers from 0"),
        ({"lead_days": True}, "whole numbers from 0"),
        ({"weeks": 0}, "at least 1 week"),
        ({"lead_days": 0, "spare_days": 0}, "days the supplier takes"),
    ],
)
def test_figures_that_cannot_be_are_refused(wrong: dict[str, int], message: str) -> None:
    with pytest.raises(ReorderError, match=message):
        reorder(**FIGURES | wrong)


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (Fraction(7, 6), "1.17"),
        (Fraction(1, 2), "0.5"),
        (Fraction(2), "2"),
        (Fraction(20), "20"),
        (Fraction(1, 8), "0.13"),
        (Fraction(3, 1_000), "0"),
        (Fraction(1_999, 1_000), "2"),
        (Fraction(12_345, 10), "1,234.5"),
    ],
)
def test_two_places_at_most(number: Fraction, text: str) -> None:
    assert two_places(number) == text


DAYS = st.integers(0, 120)


@given(st.integers(0, 500), st.integers(1, 104), DAYS, DAYS, st.integers(0, 500))
def test_the_point_lasts_through_lead_time_and_spare_days(
    opened: int, weeks: int, lead: int, spare: int, on_hand: int
) -> None:
    advice = reorder(
        opened=opened, weeks=weeks, lead_days=lead + 1, spare_days=spare, on_hand=on_hand
    )
    use = Fraction(opened * (lead + 1 + spare), weeks * 7)
    assert use <= advice.point < use + 1
    assert advice.is_due == (opened > 0 and on_hand <= advice.point)
    assert (advice.order > 0) == advice.is_due
    if advice.is_due:
        assert on_hand + advice.order >= advice.point
