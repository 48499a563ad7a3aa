"""
Grading a face, against the published scales.

Sources: five points for the mid face, Carruthers et al., Dermatol Surg 2012;38:320-332 (the words
second-hand, trial register NCT04594213); four for lines at greatest contraction, trial register
NCT02261493. The order of needs and the pairing of whole and sides are choices without a source.
"""

import pytest

from planning.assessment import (
    Course,
    GradeError,
    RegionGrade,
    Scale,
    compared,
    needs,
    scales_of,
    sides_of,
)
from planning.atlas.regions import MIDLINE_REGIONS, Region
from planning.sources import Confidence
from planning.vocabulary import Side

CHEEK, BROW_LINES, TEMPLE = Region.ZYGOMATIC, Region.GLABELLA, Region.TEMPLE


def graded(region=CHEEK, scale=Scale.VOLUME, **fields) -> RegionGrade:
    return RegionGrade(region, scale, **fields)


def test_the_volume_scale_has_the_five_published_points():
    assert Scale.VOLUME.grades == ("none", "mild", "moderate", "severe", "very severe")
    assert Scale.VOLUME.source.confidence is Confidence.SECOND_HAND


def test_the_movement_scale_has_the_four_points_of_the_trial_register():
    assert Scale.MOVEMENT.grades == ("none", "mild", "moderate", "severe")
    assert "NCT02261493" in Scale.MOVEMENT.source.title
    assert Scale.MOVEMENT.source.confidence is Confidence.PUBLISHED


def test_a_grade_is_read_with_its_word():
    assert Scale.VOLUME.word(4) == "4 very severe"


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"left": 5}, "grade 5 is not on the scale of 0 to 4"),
        ({"left": -1}, "not on the scale"),
        ({"scale": Scale.MOVEMENT, "region": BROW_LINES, "left": 4}, "scale of 0 to 3"),
        ({"midline": 1}, "comes in pairs"),
        ({"region": BROW_LINES, "midline": 1, "left": 1}, "not both"),
        ({}, "give a grade or write a note"),
    ],
)
def test_what_cannot_be_a_grade_is_refused(fields, says):
    with pytest.raises(GradeError, match=says):
        graded(**fields)


def test_a_note_without_a_grade_is_enough():
    assert graded(note="Old scar").by_side == ()


def test_the_whole_can_be_graded_where_a_region_crosses_the_midline():
    for region in Region:
        assert (Side.MIDLINE in sides_of(region)) is (region in MIDLINE_REGIONS)


def test_lines_are_asked_for_where_the_face_moves():
    assert scales_of(BROW_LINES) == (Scale.VOLUME, Scale.MOVEMENT)
    assert scales_of(TEMPLE) == (Scale.VOLUME,)


@pytest.mark.parametrize(
    ("left", "right", "difference", "words"),
    [
        (3, 1, 2, "left 2 grades more"),
        (1, 2, -1, "right 1 grade more"),
        (2, 2, 0, ""),
        (2, None, None, ""),
    ],
)
def test_asymmetry_is_left_minus_right(left, right, difference, words):
    row = graded(left=left, right=right)
    assert (row.asymmetry, row.asymmetry_words) == (difference, words)


def test_needs_come_worst_first_and_grade_none_is_no_need():
    found = needs(
        [
            graded(TEMPLE, left=1, right=0),
            graded(CHEEK, left=3, right=4),
            graded(BROW_LINES, Scale.MOVEMENT, midline=3),
            graded(Region.MENTAL, note="scar"),
        ]
    )
    assert [(need.region, need.side, need.grade) for need in found] == [
        (BROW_LINES, Side.MIDLINE, 3),  # 3 of 3
        (CHEEK, Side.RIGHT, 4),  # 4 of 4, and later in the order of regions
        (CHEEK, Side.LEFT, 3),
        (TEMPLE, Side.LEFT, 1),
    ]


def test_each_side_is_compared_with_the_last_time():
    then = [graded(left=3, right=2), graded(TEMPLE, left=1, right=1)]
    now = [graded(left=1, right=2), graded(Region.MENTAL, midline=1), graded(TEMPLE, left=2)]
    steps = {(step.region, step.side): step for step in compared(then, now)}
    assert steps[CHEEK, Side.LEFT].words == "improved, 3 to 1"
    assert steps[CHEEK, Side.RIGHT].course is Course.SAME
    assert steps[TEMPLE, Side.LEFT].words == "worse, 1 to 2"
    assert steps[TEMPLE, Side.RIGHT].words == "no longer graded, was 1"
    assert steps[Region.MENTAL, Side.MIDLINE].words == "not graded before"


def test_a_whole_then_stands_for_both_sides_now():
    then, now = [graded(BROW_LINES, midline=3)], [graded(BROW_LINES, left=1)]
    assert [(step.side, step.before, step.after) for step in compared(then, now)] == [
        (Side.RIGHT, 3, None),
        (Side.LEFT, 3, 1),
    ]


def test_the_scales_are_compared_each_with_itself():
    then = [graded(BROW_LINES, midline=3)]
    now = [graded(BROW_LINES, Scale.MOVEMENT, midline=1)]
    assert [step.course for step in compared(then, now)] == [Course.DROPPED, Course.NEW]
