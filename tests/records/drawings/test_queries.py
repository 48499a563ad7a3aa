"""The empty chart."""

import pytest

from planning.atlas.drawing import SCREEN_BOXES
from planning.atlas.locate import locate
from planning.atlas.region_map import DRAWN_VIEWS
from planning.vocabulary import Jaw, Side, View
from records.drawings.queries import region_places, view_drawing


@pytest.mark.parametrize("view", DRAWN_VIEWS)
def test_screen_shows_its_part_of_the_drawing_in_millimetres(view):
    text = view_drawing(view, Jaw.AVERAGE)
    assert 'viewBox="{} {} {} {}"'.format(*SCREEN_BOXES[view]) in text
    assert text.count('data-marks="today"') == 1
    assert "style=" not in text


@pytest.mark.parametrize("jaw", Jaw)
def test_each_offered_place_lies_in_its_region_and_side(jaw):
    for region, sides in region_places(jaw).items():
        for side, at in sides.items():
            found = locate(View(at["view"]), at["x_dmm"], at["y_dmm"], jaw)
            assert (found.region, found.side) == (region, Side(side)), (region, side)


def test_every_region_can_be_added_without_touching_the_drawing():
    assert all(region_places(Jaw.AVERAGE).values())


def test_the_neck_is_offered_where_it_is_drawn_whole():
    """From the list of regions its points fell on the lower edge of the front view."""
    places = region_places(Jaw.AVERAGE)
    assert {at["view"] for at in places["neck"].values()} == {"neck"}
    assert {at["view"] for at in places["mental"].values()} == {"front"}
