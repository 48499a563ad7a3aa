"""Every view of a photograph has its marks, and sides where there are two to compare."""

import pytest

from planning.landmarks import Landmark, marks_of
from planning.standard_views import PhotoView
from planning.vocabulary import Side


@pytest.mark.parametrize("view", PhotoView)
def test_every_view_has_three_marks(view: PhotoView) -> None:
    assert len(set(marks_of(view).landmarks)) == 3


def test_both_sides_are_seen_from_the_front_and_on_the_neck() -> None:
    assert [view for view in PhotoView if marks_of(view).has_sides] == ["front", "neck"]


def test_a_side_is_the_patients_own() -> None:
    front = marks_of(PhotoView.FRONT)
    assert front.of_side(Side.RIGHT) is Landmark.EYE_IN_RIGHT
    assert front.of_side(Side.LEFT) is Landmark.EYE_IN_LEFT


def test_every_landmark_serves_a_view() -> None:
    used = {landmark for view in PhotoView for landmark in marks_of(view).landmarks}
    assert used == set(Landmark)
