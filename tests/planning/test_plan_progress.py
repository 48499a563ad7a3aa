"""A plan against what was given. Rules of our own; the sums are checked by counting by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.plan_progress import GivenPoint, LineState, PlannedLine, progress
from planning.vocabulary import Measure, Plane, Side, Technique

BONE, SKIN = Plane.SUPRAPERIOSTEAL, Plane.SUBCUTANEOUS


def line(key=1, **fields) -> PlannedLine:
    fields = {
        "region": "zygomatic", "side": Side.LEFT, "product": "firm", "plane": BONE,
        "technique": Technique.BOLUS, "measure": Measure.VOLUME, "amount": 600, **fields,
    }  # fmt: skip
    return PlannedLine(key=key, **fields)


def point(key="a", amount=200, **fields) -> GivenPoint:
    fields = {
        "region": "zygomatic", "side": Side.LEFT, "product": "firm", "plane": BONE,
        "technique": Technique.BOLUS, **fields,
    }  # fmt: skip
    return GivenPoint(key=key, amount=amount, **fields)


@pytest.mark.parametrize(
    ("given_amounts", "state", "left"),
    [
        ([], LineState.OPEN, 600),
        ([200], LineState.PARTLY, 400),
        ([200, 200, 200], LineState.DONE, 0),
        ([200, 450], LineState.OVER, 0),
    ],
)
def test_a_line_is_ticked_off_as_points_are_given(given_amounts, state, left):
    [row] = progress([line()], [point(n, amount) for n, amount in enumerate(given_amounts)]).lines
    assert (row.state, row.left, row.given) == (state, left, sum(given_amounts))
    assert row.difference == sum(given_amounts) - 600


@pytest.mark.parametrize("other", [{"region": "mental"}, {"side": Side.RIGHT}, {"product": "soft"}])
def test_a_point_elsewhere_or_of_another_product_was_not_planned(other):
    found = progress([line()], [point(**other)])
    assert found.lines[0].state is LineState.OPEN
    assert [each.key for each in found.unplanned] == ["a"]


def test_two_lines_of_a_region_are_told_apart_by_plane_then_technique():
    """The cheek: boluses on the bone, and a fan under the skin."""
    lines = [line(1), line(2, plane=SKIN, technique=Technique.FANNING, amount=300)]
    points = [
        point("bolus"),
        point("fan", plane=SKIN, technique=Technique.FANNING),
        point("thread under the skin", plane=SKIN, technique=Technique.LINEAR_RETROGRADE),
    ]
    first, second = progress(lines, points).lines
    assert first.points == ("bolus",)
    assert second.points == ("fan", "thread under the skin")


def test_of_two_equal_lines_the_one_that_is_not_full_takes_the_point():
    lines = [line(1, amount=200), line(2, amount=200)]
    first, second = progress(lines, [point("a"), point("b"), point("c")]).lines
    assert (first.points, second.points) == (("a", "c"), ("b",))


def test_nothing_cannot_be_planned():
    with pytest.raises(ValueError, match="above 0"):
        line(amount=0)


WAYS = st.fixed_dictionaries(
    {
        "region": st.sampled_from(["zygomatic", "mental"]),
        "side": st.sampled_from(Side),
        "product": st.sampled_from(["firm", "soft"]),
        "plane": st.sampled_from([BONE, SKIN]),
        "technique": st.sampled_from([Technique.BOLUS, Technique.FANNING]),
    }
)


@given(
    st.lists(st.tuples(WAYS, st.integers(1, 900)), max_size=6),
    st.lists(st.tuples(WAYS, st.integers(1, 900)), max_size=12),
)
def test_every_point_counts_exactly_once(planned, done):
    lines = [line(n, amount=amount, **way) for n, (way, amount) in enumerate(planned)]
    points = [point(n, amount, **way) for n, (way, amount) in enumerate(done)]
    found = progress(lines, points)
    counted = [key for row in found.lines for key in row.points]
    assert sorted([*counted, *(each.key for each in found.unplanned)]) == list(range(len(points)))
    assert sum(row.given for row in found.lines) == sum(points[key].amount for key in counted)
