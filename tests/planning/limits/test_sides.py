"""Left against right. The share of 25 per cent is common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.atlas.regions import Region
from planning.flags import FlagLevel, SessionPoint
from planning.limits import session_flags
from planning.sources import SIDE_DIFFERENCE, Confidence
from planning.vocabulary import ProductKind, Side
from tests.planning.limits.sessions import by_clinic, codes, facts, filler, only

CHEEK = Region.ZYGOMATIC
KEY = ProductKind.HA_FILLER.value


def cheeks(left: int, right: int) -> tuple[SessionPoint, ...]:
    points = (filler(left or 1, number=1), filler(right or 1, number=2, side=Side.RIGHT))
    return tuple(point for point, amount in zip(points, (left, right), strict=True) if amount)


def planned(left: int, right: int) -> dict:
    return {(CHEEK, Side.LEFT, KEY): left, (CHEEK, Side.RIGHT, KEY): right}


@pytest.mark.parametrize(
    ("left", "right", "asked"),
    [(200, 150, False), (200, 149, True), (149, 200, True), (200, 200, False), (200, 0, False)],
)
def test_sides_are_at_most_a_quarter_apart(left: int, right: int, asked: bool) -> None:
    assert codes(facts(*cheeks(left, right))) == (["side-difference"] if asked else [])


def test_the_flag_names_both_sides_and_the_share() -> None:
    flag = only(facts(*cheeks(200, 100)))
    assert flag.text == (
        "Zygomatic region, Hyaluronic acid filler: left 0.2 mL, right 0.1 mL, more than 25 % apart."
    )
    assert (flag.level, flag.points, flag.source) == (FlagLevel.QUESTION, (1, 2), SIDE_DIFFERENCE)


PLANNED = [
    # left and right given, left and right planned, asked
    (200, 100, 200, 100, False),  # as planned, uneven
    (150, 150, 200, 100, True),  # even, although a difference was planned
    (200, 0, 200, 200, True),  # the right side forgotten
    (200, 0, 200, 0, False),  # one side was planned
    (190, 110, 200, 100, False),  # 20 uL beyond the plan: a tenth of the larger
]


@pytest.mark.parametrize(("left", "right", "plan_left", "plan_right", "asked"), PLANNED)
def test_a_planned_difference_is_wanted(
    left: int, right: int, plan_left: int, plan_right: int, asked: bool
) -> None:
    session = facts(*cheeks(left, right), planned=planned(plan_left, plan_right))
    assert codes(session) == (["side-difference"] if asked else [])


def test_the_clinic_sets_its_own_share_or_none() -> None:
    flag = only(facts(*cheeks(200, 170), settings=by_clinic(side_difference_percent=10)))
    assert flag.source.confidence is Confidence.CLINIC_POLICY
    assert codes(facts(*cheeks(200, 10), settings=by_clinic(side_difference_percent=None))) == []


def test_products_are_never_compared_with_one_another() -> None:
    left, right = cheeks(200, 100)
    other = filler(100, number=2, side=Side.RIGHT, product="Another filler")
    assert codes(facts(left, other)) == []
    assert codes(facts(left, right)) == ["side-difference"]


@given(st.integers(1, 200), st.integers(1, 200))
def test_the_patients_sides_are_judged_alike(left: int, right: int) -> None:
    one, other = (session_flags(facts(*cheeks(*pair))) for pair in ((left, right), (right, left)))
    assert [flag.code for flag in one] == [flag.code for flag in other]
