"""A tap finds its region and the patient's own side."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planning.atlas.locate import NotOnFace, NotOnView, locate, mirror, place
from planning.atlas.region_map import shape_of
from planning.atlas.regions import Region
from planning.vocabulary import Jaw, Side, View

FRONT_PLACES = st.tuples(st.integers(-800, 800), st.integers(-700, 1550))
SIDE_PLACES = st.tuples(st.integers(-1250, 400), st.integers(-700, 1550))


@pytest.mark.parametrize(
    ("x_mm", "y_mm", "region"),
    [
        (30, -40, Region.FOREHEAD),
        (4, -12, Region.GLABELLA),
        (66, -15, Region.TEMPLE),
        (35, -15, Region.BROW),
        (30.8, 8, Region.ORBITAL),  # the pupil
        (52, 6, Region.LATERAL_CANTHAL),
        (27, 28, Region.INFRAORBITAL),  # the infraorbital foramen
        (55, 30, Region.ZYGOMATIC),
        (4, 38, Region.NASAL),
        (24, 53, Region.NASOLABIAL),
        (8, 56, Region.UPPER_LIP),
        (8, 64, Region.UPPER_LIP),
        (8, 74, Region.LOWER_LIP),
        (27.5, 74, Region.ORAL_COMMISSURE),
        (38, 60, Region.BUCCAL),
        (49, 75, Region.PAROTID_MASSETERIC),
        (8, 100, Region.MENTAL),
        (30, 95, Region.PREJOWL),
        (10, 116, Region.SUBMENTAL),
        (20, 140, Region.NECK),
        (71, 25, Region.EAR),
    ],
)
def test_a_tap_on_the_front_view_finds_region_and_own_side(x_mm, y_mm, region):
    x, y = round(x_mm * 10), round(y_mm * 10)
    found = locate(View.FRONT, x, y)
    assert (found.region, found.side) == (region, Side.LEFT)  # viewer's right, patient's left
    assert locate(View.FRONT, -x, y).side is Side.RIGHT


@pytest.mark.parametrize(
    ("view", "x_mm", "y_mm", "region"),
    [
        (View.NECK, 10, 117, Region.SUBMENTAL),
        (View.NECK, 12, 150, Region.NECK),
        (View.NECK, 34, 150, Region.STERNOCLEIDOMASTOID),
        (View.NECK, 62, 180, Region.LATERAL_CERVICAL),
        (View.NECK, 5, 190, Region.JUGULAR_FOSSA),
        (View.NECK, 8, 225, Region.PRESTERNAL),
        (View.NECK, 60, 215, Region.INFRACLAVICULAR),
        (View.HANDS, 80, -10, Region.WRIST),
        (View.HANDS, 42, 42, Region.METACARPAL_1),
        (View.HANDS, 58, 60, Region.METACARPAL_2),
        (View.HANDS, 75, 60, Region.METACARPAL_3),
        (View.HANDS, 92, 60, Region.METACARPAL_4),
        (View.HANDS, 112, 60, Region.METACARPAL_5),
        (View.HANDS, 17, 100, Region.DIGIT_1),
        (View.HANDS, 50, 140, Region.DIGIT_2),
        (View.HANDS, 76, 150, Region.DIGIT_3),
        (View.HANDS, 100, 145, Region.DIGIT_4),
        (View.HANDS, 119, 125, Region.DIGIT_5),
    ],
)
def test_a_tap_on_neck_or_hands_finds_region_and_own_side(view, x_mm, y_mm, region):
    x, y = round(x_mm * 10), round(y_mm * 10)
    found = locate(view, x, y)
    assert (found.region, found.side) == (region, Side.LEFT)
    assert mirror(view, x, y) == (view, -x, y)
    assert locate(view, -x, y).side is Side.RIGHT


@pytest.mark.parametrize("y_dmm", [1500, 1900, 2250])
def test_the_middle_of_the_neck_is_midline(y_dmm):
    assert locate(View.NECK, 20, y_dmm).side is Side.MIDLINE
    assert locate(View.NECK, -21, y_dmm).side is Side.RIGHT


@pytest.mark.parametrize(
    ("view", "x_dmm", "y_dmm"),
    [(View.NECK, 0, 1000), (View.NECK, 900, 1200), (View.HANDS, 0, 600), (View.HANDS, 660, 1300)],
)
def test_a_tap_on_the_chin_or_between_fingers_is_refused(view, x_dmm, y_dmm):
    with pytest.raises(NotOnFace, match="Tap inside the outline"):
        locate(view, x_dmm, y_dmm)


def test_a_photograph_has_neither_regions_nor_another_side():
    with pytest.raises(NotOnFace, match="Choose region and side"):
        locate(View.PICTURE, 100, 100)
    with pytest.raises(NotOnView, match="Tap the place yourself"):
        mirror(View.PICTURE, 100, 100)
    with pytest.raises(NotOnView):
        place(View.PICTURE, Region.GLABELLA, Side.LEFT, 500, 500)


@pytest.mark.parametrize(
    ("x_dmm", "side"),
    [
        (0, Side.MIDLINE),
        (20, Side.MIDLINE),
        (-20, Side.MIDLINE),
        (21, Side.LEFT),
        (-21, Side.RIGHT),
    ],
)
def test_within_two_millimetres_of_the_middle_is_midline(x_dmm, side):
    assert locate(View.FRONT, x_dmm, 350).side is side


def test_side_views_show_one_side_and_never_the_midline():
    assert locate(View.RIGHT, 250, 380).side is Side.RIGHT  # nose, looking to the viewer's right
    assert locate(View.LEFT, -250, 380).side is Side.LEFT
    assert locate(View.RIGHT, 250, 380).region is Region.NASAL


@pytest.mark.parametrize("place_dmm", [(0, -800), (0, 1600), (900, 0), (600, 1200), (-5000, 0)])
def test_a_tap_beside_the_face_is_refused_with_what_to_do(place_dmm):
    with pytest.raises(NotOnFace, match=r"Tap inside the outline"):
        locate(View.FRONT, *place_dmm)


def test_absurd_or_broken_coordinates_are_refused():
    with pytest.raises(NotOnFace):
        locate(View.FRONT, 10**9, 0)
    with pytest.raises(TypeError, match="tenths"):
        locate(View.FRONT, 1.5, 0)
    with pytest.raises(TypeError, match="tenths"):
        mirror(View.FRONT, True, 0)


@settings(max_examples=200, deadline=None)
@given(where=FRONT_PLACES, jaw=st.sampled_from(list(Jaw)))
def test_the_mirrored_place_is_the_same_region_on_the_other_side(where, jaw):
    try:
        here = locate(View.FRONT, *where, jaw)
    except NotOnFace:
        with pytest.raises(NotOnFace):
            locate(*mirror(View.FRONT, *where), jaw)
        return
    there = locate(*mirror(View.FRONT, *where), jaw)
    assert (there.region, there.side) == (here.region, here.side.opposite)
    assert there.relative_x_permille == 1000 - here.relative_x_permille
    assert there.relative_y_permille == here.relative_y_permille


@settings(max_examples=200, deadline=None)
@given(
    view=st.sampled_from([View.NECK, View.HANDS]),
    where=st.tuples(st.integers(-1400, 1400), st.integers(-250, 2520)),
)
def test_on_neck_and_hands_the_mirrored_place_is_the_same_region_on_the_other_side(view, where):
    try:
        here = locate(view, *where)
    except NotOnFace:
        with pytest.raises(NotOnFace):
            locate(*mirror(view, *where))
        return
    there = locate(*mirror(view, *where))
    assert (there.region, there.side) == (here.region, here.side.opposite)
    back = place(view, here.region, here.side, here.relative_x_permille, here.relative_y_permille)
    left, top, right, bottom = shape_of(view, here.region, here.side, Jaw.AVERAGE).box
    assert abs(back[0] - where[0]) <= (right - left) / 2000 + 1
    assert abs(back[1] - where[1]) <= (bottom - top) / 2000 + 1


@settings(max_examples=100, deadline=None)
@given(where=SIDE_PLACES)
def test_the_side_views_mirror_each_other(where):
    assert mirror(*mirror(View.RIGHT, *where)) == (View.RIGHT, *where)
    try:
        here = locate(View.RIGHT, *where)
    except NotOnFace:
        assume(False)
    there = locate(*mirror(View.RIGHT, *where))
    assert (there.region, there.side) == (here.region, Side.LEFT)


@settings(max_examples=150, deadline=None)
@given(where=FRONT_PLACES, jaw=st.sampled_from(list(Jaw)))
def test_the_relative_place_leads_back_to_the_tap(where, jaw):
    try:
        found = locate(View.FRONT, *where, jaw)
    except NotOnFace:
        assume(False)
    assert 0 <= found.relative_x_permille <= 1000
    assert 0 <= found.relative_y_permille <= 1000
    back = place(
        View.FRONT,
        found.region,
        found.side,
        found.relative_x_permille,
        found.relative_y_permille,
        jaw,
    )
    left, top, right, bottom = shape_of(View.FRONT, found.region, found.side, jaw).box
    assert abs(back[0] - where[0]) <= (right - left) / 2000 + 1
    assert abs(back[1] - where[1]) <= (bottom - top) / 2000 + 1


def test_a_side_view_cannot_place_the_other_side():
    with pytest.raises(NotOnView, match="right side view does not show the left"):
        place(View.RIGHT, Region.BUCCAL, Side.LEFT, 500, 500)
