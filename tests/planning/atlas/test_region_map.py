"""No gap and no overlap: every place of a view lies in one region or outside the face."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.atlas.geometry import contains, doubled_area
from planning.atlas.partition import ChartError, named, traced
from planning.atlas.region_map import half_rings, shape_of, shapes
from planning.atlas.regions import MIDLINE_REGIONS, Region
from planning.vocabulary import Jaw, Side, View

MAPS = [(view, jaw) for view in (View.FRONT, View.NECK) for jaw in Jaw]
MAPS += [(View.RIGHT, Jaw.AVERAGE), (View.HANDS, Jaw.AVERAGE)]
FACE = (View.FRONT, View.RIGHT, View.LEFT)


def outline(rings):
    """Outer edge of all rings together: the pieces that belong to one ring only."""
    pieces = {}
    for ring in rings:
        for start, end in zip(ring, (*ring[1:], ring[0]), strict=True):
            pieces[start, end] = True
    outer = {start: end for start, end in pieces if (end, start) not in pieces}
    first = min(outer)
    edge, here = [first], outer[first]
    while here != first:
        edge.append(here)
        here = outer[here]
    assert len(edge) == len(outer), "the outer edge is not one closed line"
    return edge


def owners(rings, x, y):
    return [region for region, ring in rings.items() if contains(ring, x, y)]


@pytest.mark.parametrize(("view", "jaw"), MAPS)
def test_areas_of_the_regions_add_up_to_the_area_of_the_face(view, jaw):
    rings = half_rings(view, jaw)
    assert sum(map(doubled_area, rings.values())) == doubled_area(outline(rings.values()))


@pytest.mark.parametrize(
    ("view", "jaw"),
    [(view, Jaw.AVERAGE) for view in (View.FRONT, View.RIGHT, View.NECK, View.HANDS)],
)
def test_on_a_grid_each_place_inside_has_one_region_and_each_outside_none(view, jaw):
    rings = half_rings(view, jaw)
    edge = outline(rings.values())
    left, right = min(x for x, _ in edge), max(x for x, _ in edge)
    top, bottom = min(y for _, y in edge), max(y for _, y in edge)
    inside = 0
    for x in range(left - 20, right + 20, 31):
        for y in range(top - 20, bottom + 20, 29):
            expected = 1 if contains(edge, x, y) else 0
            assert len(owners(rings, x, y)) == expected, (x, y)
            inside += expected
    assert inside > 800


@pytest.mark.parametrize(("view", "jaw"), MAPS)
def test_a_corner_shared_by_regions_belongs_to_one_at_most(view, jaw):
    rings = half_rings(view, jaw)
    edge = outline(rings.values())
    corners = {cell for ring in rings.values() for cell in ring[::4]}
    for x, y in corners:
        assert len(owners(rings, x, y)) == (1 if contains(edge, x, y) else 0), (x, y)


@settings(max_examples=150, deadline=None)
@given(
    place=st.tuples(st.integers(-50, 900), st.integers(-700, 1550)),
    jaw=st.sampled_from(list(Jaw)),
)
def test_any_place_of_the_front_has_at_most_one_region(place, jaw):
    rings = half_rings(View.FRONT, jaw)
    assert len(owners(rings, *place)) == (1 if contains(outline(rings.values()), *place) else 0)


@settings(max_examples=100, deadline=None)
@given(place=st.tuples(st.integers(-1250, 400), st.integers(-700, 1550)))
def test_any_place_of_the_side_has_at_most_one_region(place):
    rings = half_rings(View.RIGHT, Jaw.AVERAGE)
    assert len(owners(rings, *place)) == (1 if contains(outline(rings.values()), *place) else 0)


@settings(max_examples=150, deadline=None)
@given(
    view=st.sampled_from([View.NECK, View.HANDS]),
    place=st.tuples(st.integers(-50, 1450), st.integers(-300, 2550)),
    jaw=st.sampled_from(list(Jaw)),
)
def test_any_place_of_neck_and_hands_has_at_most_one_region(view, place, jaw):
    rings = half_rings(view, jaw)
    assert len(owners(rings, *place)) == (1 if contains(outline(rings.values()), *place) else 0)


def test_every_face_region_is_on_every_view_of_the_face():
    regions = [{shape.region for shape in shapes(view, Jaw.AVERAGE)} for view in FACE]
    assert regions[0] == regions[1] == regions[2]
    assert len(regions[0]) == 20


def test_each_region_is_on_a_view_and_neck_and_face_share_what_is_the_same():
    on = {view: set(half_rings(view, Jaw.AVERAGE)) for view in View}
    assert set().union(*on.values()) == set(Region)
    assert on[View.NECK] & on[View.FRONT] == {Region.NECK, Region.SUBMENTAL}
    assert on[View.HANDS] & (on[View.NECK] | on[View.FRONT]) == set()
    assert on[View.PICTURE] == set()


def test_the_region_under_the_chin_is_the_same_shape_in_front_and_on_the_neck():
    for jaw in Jaw:
        front, neck = (half_rings(view, jaw)[Region.SUBMENTAL] for view in (View.FRONT, View.NECK))
        assert set(front) ^ set(neck) <= {(0, 1225)}
        assert doubled_area(front) == doubled_area(neck)


@pytest.mark.parametrize("view", [View.FRONT, View.NECK, View.HANDS])
def test_a_view_of_both_sides_is_its_own_mirror_image(view):
    for shape in shapes(view, Jaw.AVERAGE):
        mirrored = {(-x, y) for x, y in shape.ring}
        if shape.region in MIDLINE_REGIONS:
            assert mirrored == set(shape.ring)
        else:
            other = shape_of(view, shape.region, shape.side.opposite, Jaw.AVERAGE)
            assert mirrored == set(other.ring)


def test_the_left_view_is_the_mirror_image_of_the_right():
    for shape in shapes(View.RIGHT, Jaw.AVERAGE):
        other = shape_of(View.LEFT, shape.region, Side.LEFT, Jaw.AVERAGE)
        assert {(-x, y) for x, y in shape.ring} == set(other.ring)


@pytest.mark.parametrize("view", [View.FRONT, View.NECK])
def test_a_midline_region_whole_has_twice_the_area_of_its_half(view):
    halves = half_rings(view, Jaw.AVERAGE)
    for shape in shapes(view, Jaw.AVERAGE):
        if shape.side is None:
            assert doubled_area(shape.ring) == 2 * doubled_area(halves[shape.region])


def test_a_broader_jaw_widens_the_jaw_angle_and_leaves_the_forehead():
    narrow, broad = (half_rings(View.FRONT, jaw) for jaw in (Jaw.NARROWER, Jaw.BROADER))
    masseter = Region.PAROTID_MASSETERIC
    assert doubled_area(broad[masseter]) > doubled_area(narrow[masseter])
    assert broad[Region.FOREHEAD] == narrow[Region.FOREHEAD]


def test_a_border_that_ends_loose_is_refused():
    with pytest.raises(ChartError, match="loose"):
        traced([[(0, 0), (10, 0), (10, 10), (0, 0)], [(10, 10), (20, 20)]])


def test_a_shape_with_two_seeds_is_refused():
    ring = ((0, 0), (10, 0), (10, 10), (0, 10))
    with pytest.raises(ChartError, match="2 seeds"):
        named([ring], {Region.NASAL: (3, 3), Region.EAR: (6, 6)})


def test_two_squares_side_by_side_share_their_border_by_the_half_open_rule():
    rings = traced(
        [[(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)], [(10, 0), (20, 0), (20, 10), (10, 10)]]
    )
    left, right = sorted(rings, key=min)
    assert (contains(left, 10, 5), contains(right, 10, 5)) == (False, True)
    assert (contains(left, 5, 0), contains(left, 5, 10)) == (True, False)
