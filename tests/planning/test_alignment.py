"""
Pictures laid over each other, against a published worked example, scipy and numpy.

Worked example: Umeyama, IEEE Trans. Pattern Anal. Mach. Intell. 1991;13:376-380, section IV, read
as other libraries' tests cite it: (0, 0), (1, 0), (0, 2) onto (0, 0), (-1, 0), (0, 2) without
reflection has scale 0.721, turn [[0.832, 0.555], [-0.555, 0.832]] and shift (-0.800, 0.400). Here
each length is a hundred times as large, for pixels.
"""

from math import cos, hypot, radians, sin

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import least_squares
from scipy.spatial import procrustes

from planning.alignment import (
    AlignmentError,
    Placement,
    affine,
    half,
    midline,
    mirrored,
    similar,
)

UMEYAMA = ([(0, 0), (100, 0), (0, 200)], [(0, 0), (-100, 0), (0, 200)])
EYES_AND_NOSE = [(410, 520), (590, 516), (503, 680)]

pixels = st.integers(0, 4000)
three = st.lists(st.tuples(pixels, pixels), min_size=3, max_size=3, unique=True)


def apart(places) -> bool:
    """Far enough from each other and from one line, for marks that anybody sets."""
    (x0, y0), (x1, y1), (x2, y2) = places
    sides = [hypot(x1 - x0, y1 - y0), hypot(x2 - x1, y2 - y1), hypot(x0 - x2, y0 - y2)]
    height = abs((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)) / max(sides)
    return min(sides) > 20 and height > 0.05 * max(sides)


def test_the_published_example_comes_out() -> None:
    placement = similar(*UMEYAMA)
    scale = hypot(placement.a, placement.b)
    assert scale == pytest.approx(0.721, abs=0.0005)
    turn = [[placement.a / scale, placement.c / scale], [placement.b / scale, placement.d / scale]]
    assert np.allclose(turn, [[0.832, 0.555], [-0.555, 0.832]], atol=0.0005)
    assert (placement.e, placement.f) == pytest.approx((-80, 40), abs=0.05)


@given(three, three)
def test_three_marks_lie_as_near_as_scipy_brings_them(source, target) -> None:
    assume(apart(source) and apart(target))

    def offs(of):
        x, y = np.array(source).T
        to_x, to_y = np.array(target).T
        return np.concatenate(
            [of[0] * x - of[1] * y + of[2] - to_x, of[1] * x + of[0] * y + of[3] - to_y]
        )

    best = least_squares(offs, [1, 0, 0, 0], x_scale="jac").x
    found = similar(source, target)
    assert found.error(source, target) == pytest.approx(
        np.sqrt(2 * np.mean(offs(best) ** 2)), rel=1e-4, abs=1e-3
    )


def test_the_rest_is_that_of_a_procrustes_analysis() -> None:
    """scipy's `procrustes` gives the disparity of both patterns, each of size one."""
    target = [(x + dx, y + dy) for (x, y), (dx, dy) in zip(
        EYES_AND_NOSE, [(4, -2), (-3, 5), (1, 7)], strict=True
    )]  # fmt: skip
    off = similar(EYES_AND_NOSE, target).error(EYES_AND_NOSE, target)
    size = np.sum((np.array(target) - np.mean(target, axis=0)) ** 2)
    assert 3 * off**2 / size == pytest.approx(procrustes(target, EYES_AND_NOSE)[2], rel=1e-9)


@given(three, three)
def test_stretching_solves_the_same_equations_as_numpy(source, target) -> None:
    assume(apart(source) and apart(target))
    rows = np.column_stack([source, np.ones(3)])
    solved = np.linalg.solve(rows, np.array(target))
    found = affine(source, target)
    assert np.allclose(
        [[found.a, found.b], [found.c, found.d], [found.e, found.f]], solved, rtol=1e-6, atol=1e-6
    )
    assert found.error(source, target) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("degrees", [0, 7, -90, 180])
def test_two_marks_undo_a_turn_a_scale_and_a_shift(degrees) -> None:
    turn, scale = radians(degrees), 1.3

    def moved(x, y):
        return (
            scale * (x * cos(turn) - y * sin(turn)) + 40,
            scale * (x * sin(turn) + y * cos(turn)) - 25,
        )

    placement = similar([moved(*place) for place in EYES_AND_NOSE[:2]], EYES_AND_NOSE[:2])
    assert placement.of(*moved(300, 900)) == pytest.approx((300, 900))


def test_a_face_is_never_mirrored_to_fit() -> None:
    flipped = [(1000 - x, y) for x, y in EYES_AND_NOSE]
    placement = similar(EYES_AND_NOSE, flipped)
    assert placement.a * placement.d - placement.b * placement.c > 0


def test_the_midline_runs_through_the_middle_of_the_eyes_and_the_nose() -> None:
    assert midline(*EYES_AND_NOSE) == ((500, 518), (503, 680))
    # Without the nose: square to the line of the eyes.
    centre, other = midline((400, 500), (600, 500))
    assert centre == (500, 500)
    assert other[0] == 500


def test_a_mirror_swaps_the_sides_and_keeps_the_line() -> None:
    upright = mirrored(((500, 0), (500, 900)))
    assert upright.of(410, 520) == (590, 520)
    slanted = mirrored(((0, 0), (100, 100)))
    assert slanted.of(30, 70) == pytest.approx((70, 30))
    assert slanted.of(55, 55) == pytest.approx((55, 55))
    # Householder's reflection, by numpy: 2uu' - 1 for the unit vector u along the line.
    along = np.array([3, 162]) / np.hypot(3, 162)
    tilted = mirrored(midline(*EYES_AND_NOSE))
    assert np.allclose(
        [[tilted.a, tilted.c], [tilted.b, tilted.d]], 2 * np.outer(along, along) - np.eye(2)
    )


def test_each_half_ends_at_the_midline() -> None:
    axis = ((500, 0), (500, 10))
    assert half(1000, 800, axis, (410, 520)) == ((0, 0), (500, 0), (500, 800), (0, 800))
    assert half(1000, 800, axis, (590, 516)) == ((500, 0), (1000, 0), (1000, 800), (500, 800))
    assert half(1000, 800, ((2000, 0), (2000, 9)), (0, 0)) == (
        (0, 0), (1000, 0), (1000, 800), (0, 800),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("act", "told"),
    [
        (lambda: similar([(0, 0)], [(0, 0)]), "at least 2"),
        (lambda: similar([(0, 0), (50, 0)], [(0, 0)]), "same marks"),
        (lambda: similar([(0, 0), (3, 0)], [(0, 0), (90, 0)]), "less than 10 pixels"),
        (lambda: affine([(0, 0), (50, 0)], [(0, 0), (50, 0)]), "at least 3"),
        (lambda: affine([(0, 0), (500, 5), (900, 0)], EYES_AND_NOSE), "nearly on one line"),
        (lambda: affine(EYES_AND_NOSE, [(0, 0), (500, 5), (900, 0)]), "nearly on one line"),
        (lambda: midline((0, 0), (5, 0)), "less than 10 pixels"),
        (lambda: midline((0, 0), (100, 0), (50, 3)), "less than 10 pixels"),
        (lambda: half(9, 9, ((0, 0), (0, 20)), (0, 5)), "on the midline"),
        (lambda: affine([*EYES_AND_NOSE, (0, 0)], [*EYES_AND_NOSE, (0, 0)]), "takes three"),
    ],
)
def test_marks_that_place_nothing_are_refused_in_words(act, told) -> None:
    with pytest.raises(AlignmentError, match=told):
        act()


def test_without_marks_a_picture_stays_where_it_is() -> None:
    assert Placement().of(12, 34) == (12, 34)
    assert Placement().matrix == (1, 0, 0, 1, 0, 0)
