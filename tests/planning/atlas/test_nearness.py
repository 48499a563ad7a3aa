"""Which vessels the chart draws near a place: against a brute-force search, and on known places."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.atlas.geometry import between, sample, smooth
from planning.atlas.nearness import NEAR_VESSEL_DMM, near_vessels, vessel_lines
from planning.atlas.overlays import LANDMARKS, sides_of
from planning.atlas.region_map import DRAWN_VIEWS
from planning.atlas.vessels import VESSELS
from planning.vocabulary import Jaw, View

PLACES = st.tuples(st.integers(-1300, 1300), st.integers(-900, 2500))


def walked(line, step_dmm=1):
    """Places along a line of cells, at most `step_dmm` apart."""
    for start, end in pairwise(line):
        pieces = max(1, math.ceil(math.dist(start, end) / step_dmm))
        for piece in range(pieces + 1):
            yield between(start, end, piece / pieces)


@settings(max_examples=60, deadline=None)
@given(view=st.sampled_from(DRAWN_VIEWS), place=PLACES, jaw=st.sampled_from(list(Jaw)))
def test_distances_are_those_of_a_walk_along_every_line(view, place, jaw):
    near = {found.vessel.key: found.distance_dmm for found in near_vessels(view, *place, jaw)}
    for vessel, lines in vessel_lines(view, jaw):
        nearest = min(math.dist(place, step) for line in lines for step in walked(line))
        # A walk in steps of 1 misses the nearest place by at most half a step.
        if nearest < NEAR_VESSEL_DMM - 1:
            assert vessel.key in near
        if vessel.key in near:
            assert near[vessel.key] <= nearest + 0.5
            assert near[vessel.key] >= nearest - 1
            assert near[vessel.key] <= NEAR_VESSEL_DMM
        elif nearest > NEAR_VESSEL_DMM + 1:
            assert vessel.key not in near


@settings(max_examples=60, deadline=None)
@given(
    view=st.sampled_from([View.FRONT, View.NECK, View.HANDS]),
    place=PLACES,
)
def test_both_halves_of_the_drawing_warn_alike(view, place):
    x, y = place
    assert near_vessels(view, x, y) == near_vessels(view, -x, y)


@settings(max_examples=40, deadline=None)
@given(place=PLACES)
def test_the_two_side_views_warn_alike(place):
    x, y = place
    assert near_vessels(View.RIGHT, x, y) == near_vessels(View.LEFT, -x, y)


def test_the_lines_are_the_drawn_ones():
    for view in DRAWN_VIEWS:
        for vessel, lines in vessel_lines(view, Jaw.BROADER):
            drawn = [
                sample(smooth(points), 0.5)
                for course in vessel.on(view)
                for points in sides_of(view, course, Jaw.BROADER)
            ]
            assert len(lines) == len(drawn)
            for line, curve in zip(lines, drawn, strict=True):
                for x, y in line:
                    assert min(math.dist((x / 10, y / 10), at) for at in curve) < 0.6


def test_on_the_line_the_distance_is_nothing_and_the_nearest_comes_first():
    # Beside the mouth corner, where the facial artery passes: Yang 2014, 13.5 mm lateral.
    found = near_vessels(View.FRONT, 386, 689)
    assert (found[0].vessel.key, found[0].distance_dmm) == ("facial", 0)
    assert [near.distance_dmm for near in found] == sorted(near.distance_dmm for near in found)
    assert "superior_labial" in {near.vessel.key for near in found}


def test_exactly_at_the_limit_still_warns_and_beyond_it_does_not():
    # The supraorbital line between y -3.5 and -11 is nearly upright at x 25: step off sideways.
    (vessel,) = (v for v in VESSELS if v.key == "supraorbital")
    x, y = vessel.front[-1]
    last = (round(x * 10), round(y * 10))
    assert any(
        n.vessel.key == "supraorbital" and n.distance_dmm == NEAR_VESSEL_DMM
        for n in near_vessels(View.FRONT, last[0], last[1] - NEAR_VESSEL_DMM)
    )
    assert all(
        n.vessel.key != "supraorbital"
        for n in near_vessels(View.FRONT, last[0], last[1] - NEAR_VESSEL_DMM - 1)
    )


@pytest.mark.parametrize("landmark", ["supraorbital_notch", "oral_commissure"])
def test_the_middle_of_the_cheek_is_quiet_and_a_notch_is_not(landmark):
    assert near_vessels(View.FRONT, 480, 300) == ()
    (spot,) = (spot for spot in LANDMARKS if spot.key == landmark)
    x, y = (round(value * 10) for value in spot.front)
    assert near_vessels(View.FRONT, x, y)


def test_a_photograph_has_no_drawn_vessels():
    assert near_vessels(View.PICTURE, 300, 300) == ()


def test_the_text_names_vessel_distance_and_depth():
    text = near_vessels(View.FRONT, 386, 689)[0].text
    assert text.startswith("Facial artery: the drawn line is 0 mm away. Usual depth: 21.6 mm")
