"""Two points of a photograph and their distance give its scale."""

from math import hypot

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from planning.atlas.calibration import Calibration, CalibrationError, chart_place, suggested
from planning.atlas.regions import Region
from planning.vocabulary import Jaw, Side

# The worked example: 512 px between the pupils of a woman whose pupils are 61.7 mm apart (mean of
# ANSUR II, women, Gordon et al. 2014, NATICK/TR-15/007), worked by hand: 512 / 61.7 = 8.298.
WORKED = Calibration(x1=300, y1=400, x2=812, y2=400, distance_dmm=617)

PIXELS = st.integers(0, 2400)


def test_the_worked_example():
    assert WORKED.pixels_per_mm == pytest.approx(8.298, abs=0.0005)
    assert WORKED.to_pixels(100) == 83  # 10 mm = 83.0 px
    assert WORKED.to_dmm(512) == 617
    assert WORKED.to_dmm(0) == 0


@pytest.mark.parametrize(("distance_dmm", "pixels_per_mm"), [(555, 9.23), (675, 7.59)])
def test_the_band_of_the_worked_example(distance_dmm, pixels_per_mm):
    """5th and 95th percentile of the pupil distance, 55.5 and 67.5 mm, of the same source."""
    calibration = Calibration(0, 0, 512, 0, distance_dmm)
    assert calibration.pixels_per_mm == pytest.approx(pixels_per_mm, abs=0.006)


def test_a_slanting_line_is_measured_along_itself():
    """3-4-5 by hand: 500 px for 50 mm are 10 px a millimetre, one pixel a tenth."""
    calibration = Calibration(100, 100, 400, 500, 500)
    assert [calibration.to_dmm(pixels) for pixels in (1, 7, 2400)] == [1, 7, 2400]


def test_halves_are_rounded_outwards():
    """2 px a tenth of a millimetre, by hand: 3 px are 1.5 tenths."""
    calibration = Calibration(0, 0, 200, 0, 100)
    assert [calibration.to_dmm(pixels) for pixels in (-3, 3)] == [-2, 2]


@given(PIXELS, PIXELS, PIXELS, PIXELS, st.integers(50, 4000), st.integers(0, 2400))
def test_there_and_back_is_within_half_a_step(x1, y1, x2, y2, distance_dmm, pixels):
    assume((x1, y1) != (x2, y2))
    calibration = Calibration(x1, y1, x2, y2, distance_dmm)
    dmm_per_pixel = distance_dmm / hypot(x2 - x1, y2 - y1)
    there = calibration.to_dmm(pixels)
    assert abs(there - pixels * dmm_per_pixel) <= 0.5 + 1e-6
    assert abs(calibration.to_pixels(there) - pixels) <= 0.5 + 0.5 / dmm_per_pixel + 1e-6


def test_two_equal_points_are_refused():
    with pytest.raises(CalibrationError, match="same place"):
        Calibration(5, 5, 5, 5, 617)


@pytest.mark.parametrize("distance_dmm", [-617, 0, 49, 4001])
def test_a_distance_that_no_face_has_is_refused(distance_dmm):
    with pytest.raises(CalibrationError, match="from 5 to 400 mm"):
        Calibration(0, 0, 100, 0, distance_dmm)


@pytest.mark.parametrize("distance_dmm", [50, 4000])
def test_the_ends_of_the_range_are_accepted(distance_dmm):
    assert Calibration(0, 0, 100, 0, distance_dmm).to_dmm(100) == distance_dmm


def test_fractions_are_refused():
    with pytest.raises(TypeError):
        Calibration(0, 0, 100, 0, 61.7)  # type: ignore[arg-type]


def test_a_point_outside_the_picture_is_refused():
    WORKED.check_picture(813, 401)
    with pytest.raises(CalibrationError, match="outside the picture"):
        WORKED.check_picture(812, 401)


def test_a_picture_of_many_metres_is_refused():
    with pytest.raises(CalibrationError, match="farther apart"):
        Calibration(10, 10, 12, 10, 617).check_picture(2400, 1800)


def test_the_pupils_lie_on_the_charts_pupils():
    """The chart's pupils are 61.7 mm apart (ANSUR II, women) and 8 mm below nasion (layout)."""
    right = WORKED.to_dmm(300), WORKED.to_dmm(400)
    left = WORKED.to_dmm(812), WORKED.to_dmm(400)
    for place, expected in ((right, (-308.5, 80)), (left, (308.5, 80))):
        assert chart_place(WORKED, *place) == pytest.approx(expected, abs=1)


def test_the_order_of_the_pupils_does_not_matter():
    swapped = Calibration(812, 400, 300, 400, 617)
    assert chart_place(swapped, 500, 900) == chart_place(WORKED, 500, 900)


def test_a_tilted_head_is_turned_upright():
    """A quarter turn by hand: 30 mm below the middle of level pupils is 38 mm below nasion."""
    level = Calibration(0, 1000, 617, 1000, 617)
    assert chart_place(level, 308, 1300) == pytest.approx((0, 380), abs=1)
    tilted = Calibration(1000, 1000, 1300, 1400, 500)  # 3-4-5: the pupils 50 mm apart, head tilted
    # 240 and 180 px are 30 mm at a right angle to the pupils' line, on the mouth's side of it.
    x, y = chart_place(tilted, 1150 - 240, 1200 + 180)
    assert (x, y) == pytest.approx((0, 80 + 300 * 617 / 500), abs=1)


@pytest.mark.parametrize(
    ("x_mm", "y_mm", "region", "side"),
    [
        (-55, 22, Region.ZYGOMATIC, Side.RIGHT),  # 22 mm below and 55 mm beside the middle
        (55, 22, Region.ZYGOMATIC, Side.LEFT),
        (0, -48, Region.FOREHEAD, Side.MIDLINE),
        (8, 92, Region.MENTAL, Side.LEFT),
    ],
)
def test_a_place_suggests_region_and_side(x_mm, y_mm, region, side):
    """As on the front chart 8 mm lower: `test_locate.py` has the same places."""
    calibration = Calibration(1000, 1000, 1617, 1000, 617)
    location = suggested(calibration, 13085 // 10 + x_mm * 10, 1000 + y_mm * 10, Jaw.AVERAGE)
    assert location is not None
    assert (location.region, location.side) == (region, side)


def test_a_place_beside_the_face_suggests_nothing():
    assert suggested(Calibration(1000, 1000, 1617, 1000, 617), 100, 100) is None
