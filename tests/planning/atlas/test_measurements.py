"""
The drawing against published means.

Source of the means unless a row says otherwise: Farkas, Anthropometry of the Head and Face, 2nd ed.
1994, appendix A, young North American white women. Mark: memory (recalled, not verified). The
pupils and the top of the head: ANSUR II 2012 public data, women. Mark: data.
"""

import math
import re

import pytest

from planning.atlas.drawing import draw_view
from planning.atlas.hand_map import HAND_EDGE, MIDDLE
from planning.atlas.jaw import shaped
from planning.atlas.measurements import FRONT, HAND, MEASUREMENTS, NECK_FRONT, PROFILE, Mark
from planning.atlas.outlines import EAR_SIDE, FACE_EDGE, HEAD_SIDE
from planning.vocabulary import Jaw, View
from tests.planning.atlas.svg import SVG, parse

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def drawn(view, name):
    """Point lists (mm) of every path of one class in the drawing."""
    root = parse(draw_view(view))
    paths = [path for path in root.iter(f"{SVG}path") if path.get("class") == name]
    assert paths, f"nothing of class {name} is drawn"
    return [points(path.get("d")) for path in paths]


def points(data):
    numbers = [float(text) for text in NUMBER.findall(data)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def gap(view, name, place):
    """Distance in mm from a place to the nearest point drawn in that class."""
    return min(math.dist(point, place) for line in drawn(view, name) for point in line)


@pytest.mark.parametrize(
    ("left", "right", "mean_mm"),
    [
        ("en", "en", 31.8),
        ("ex", "ex", 87.8),
        ("al", "al", 31.4),
        ("ch", "ch", 50.2),
        ("zy", "zy", 130.0),
        ("go", "go", 94.5),
        ("ft", "ft", 111.5),
        ("pupil", "pupil", 61.7),  # ANSUR II, data
    ],
)
def test_widths_of_the_front_view_are_the_published_means(left, right, mean_mm):
    width = FRONT[left].x_mm + FRONT[right].x_mm
    assert width == pytest.approx(mean_mm, abs=1)


@pytest.mark.parametrize(
    ("upper", "lower", "mean_mm"),
    [
        ("tr", "n", 63.0),
        ("n", "gn", 111.4),
        ("ls", "sto", 8.7),
        ("sto", "li", 9.4),
    ],
)
def test_heights_of_the_front_view_are_the_published_means(upper, lower, mean_mm):
    assert FRONT[lower].y_mm - FRONT[upper].y_mm == pytest.approx(mean_mm, abs=1)


@pytest.mark.parametrize(
    ("one", "other", "mean_mm"),
    [
        ("n", "sn", 50.6),
        ("sn", "gn", 64.3),
        ("n", "sto", 69.4),
        ("sto", "gn", 43.4),
        ("n", "gn", 111.4),
        ("sn", "prn", 19.7),
        ("sn", "sto", 20.1),
    ],
)
def test_chords_of_the_profile_are_the_published_means(one, other, mean_mm):
    assert math.dist(PROFILE[one].at, PROFILE[other].at) == pytest.approx(mean_mm, abs=1)


def test_the_height_of_the_nose_seen_from_the_front_is_shorter_than_its_chord():
    # n-sn is a chord of 50.6 mm; its drop on the front view is 48.6 by the two-chord arithmetic.
    assert FRONT["sn"].y_mm == pytest.approx(48.6, abs=0.1)


@pytest.mark.parametrize(
    ("name", "landmark"),
    [
        ("atlas-white", "en"),
        ("atlas-white", "ex"),
        ("atlas-lip", "ls"),
        ("atlas-lip", "sto"),
        ("atlas-lip", "li"),
        ("atlas-lip", "ch"),
        ("atlas-pen", "al"),
        ("atlas-pen", "zy"),
        ("atlas-pen", "go"),
        ("atlas-pen", "gn"),
    ],
)
def test_the_ink_of_the_front_view_passes_through_the_landmark(name, landmark):
    assert gap(View.FRONT, name, FRONT[landmark].at) <= 1


@pytest.mark.parametrize("landmark", ["tr", "n", "prn", "sn", "ls", "sto", "li", "gn"])
def test_the_ink_of_the_profile_passes_through_the_landmark(landmark):
    assert gap(View.RIGHT, "atlas-pen", PROFILE[landmark].at) <= 1


def test_the_pupil_is_drawn_where_it_was_measured():
    root = parse(draw_view(View.FRONT))
    (pupil,) = (c for c in root.iter(f"{SVG}circle") if c.get("class") == "atlas-pupil")
    assert float(pupil.get("cx")) == pytest.approx(61.7 / 2, abs=0.5)


def test_ear_and_head_keep_their_published_size():
    ear_length = max(math.dist(a, b) for a in EAR_SIDE for b in EAR_SIDE)
    assert ear_length == pytest.approx(59.0, abs=3.6)  # sa-sba, within one SD
    top_of_hair = min(y for _, y in HEAD_SIDE)
    skull_top = PROFILE["t"].y_mm - 126.5  # t-v, ANSUR II
    assert 0 <= skull_top - top_of_hair <= 5


def test_the_profile_angles_lie_within_one_sd_of_the_published_ones():
    """Braz J Otorhinolaryngol 2014;80:397, 59 women: 133.16 ± 8.88° nasofrontal. Mark: read."""
    glabella, nasion, tip = (2.9, -13), PROFILE["n"].at, PROFILE["prn"].at
    one = math.atan2(glabella[1] - nasion[1], glabella[0] - nasion[0])
    other = math.atan2(tip[1] - nasion[1], tip[0] - nasion[0])
    assert abs(math.degrees(abs(one - other)) - 133.16) <= 8.88


def test_widths_grow_in_the_published_order():
    order = ["al", "ch", "ex", "go", "ft", "zy"]
    widths = [FRONT[key].x_mm for key in order]
    assert widths == sorted(widths)


@pytest.mark.parametrize(
    ("jaw", "go_go_mm"),
    # Mean 94.5, SD 5.0: narrower and broader are 1.5 SD away (how many SDs is our choice).
    [(Jaw.NARROWER, 87.0), (Jaw.AVERAGE, 94.5), (Jaw.BROADER, 102.0)],
)
def test_the_jaw_variant_moves_the_gonia_and_nothing_above_the_zygion(jaw, go_go_mm):
    (gonion, zygion, chin, mouth) = shaped([FRONT[key].at for key in ("go", "zy", "gn", "ch")], jaw)
    assert 2 * gonion[0] == pytest.approx(go_go_mm, abs=0.01)
    assert (zygion, chin) == (FRONT["zy"].at, FRONT["gn"].at)
    assert mouth[0] == pytest.approx(FRONT["ch"].x_mm, abs=1)


def test_the_jaw_variants_are_mirror_images_and_change_the_drawing():
    edge = shaped(FACE_EDGE, Jaw.BROADER)
    other = shaped([(-x, y) for x, y in FACE_EDGE], Jaw.BROADER)
    assert other == [(-x, y) for x, y in edge]
    assert len({draw_view(View.FRONT, jaw) for jaw in Jaw}) == 3


def test_the_hand_has_the_recalled_length_and_breadth():
    # ANSUR II, women: hand length about 179, hand breadth about 79, palm about 103. Mark: memory.
    assert HAND["tip"].y_mm - HAND["wrist"].y_mm == pytest.approx(179, abs=1)
    assert HAND["ulnar"].x_mm - HAND["radial"].x_mm == pytest.approx(79, abs=1)
    assert HAND["web"].y_mm - HAND["wrist"].y_mm == pytest.approx(103, abs=1)


@pytest.mark.parametrize("landmark", ["tip", "web", "radial", "ulnar"])
def test_the_ink_of_the_hand_passes_through_the_landmark(landmark):
    assert gap(View.HANDS, "atlas-pen", HAND[landmark].at) <= 1
    assert HAND[landmark].at in HAND_EDGE


def test_the_middle_finger_is_the_longest():
    assert max(y for _, y in HAND_EDGE) == MIDDLE.tip[1]


def test_the_neck_goes_on_from_the_chin_of_the_front_view():
    assert NECK_FRONT["gn"] is FRONT["gn"]
    assert gap(View.NECK, "atlas-pen", NECK_FRONT["gn"].at) <= 1
    assert NECK_FRONT["jugulare"].y_mm > NECK_FRONT["prominence"].y_mm > FRONT["gn"].y_mm


def test_every_measurement_names_its_source_and_how_far_it_is_trusted():
    for row in MEASUREMENTS.values():
        assert row.source
        assert isinstance(row.mark, Mark)
        assert isinstance(row.mean_dmm, int)
