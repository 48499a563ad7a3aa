"""
Stretching the chart to a patient's measures.

Means and percentiles: ANSUR II 2012 public data, women (mark: data): pupils 61.7, 5 to 95 % 55.5 to
67.5; face width 133.8; chin to nose root 113.1. The chart's own: pupils 61.7 (the same), face width
130.0 and face height 111.4 (Farkas 1994; mark: memory).
"""

import pytest

from planning.atlas.fit import LEAST_PERMILLE, MOST_PERMILLE, Fit, MeasureError, fitted
from planning.atlas.measurements import MEASUREMENTS

PUPIL, WIDTH, HEIGHT = 617, 1300, 1114


def test_without_a_measure_the_chart_stays_as_it_is():
    assert fitted() == Fit(1000, 1000)


@pytest.mark.parametrize(
    ("measures", "fit"),
    [
        ({"pupil_dmm": 617}, Fit(1000, 1000)),
        ({"pupil_dmm": 555}, Fit(900, 1000)),  # 5 % of women: 55.5 / 61.7 = 0.8995
        ({"pupil_dmm": 675}, Fit(1094, 1000)),  # 95 %: 67.5 / 61.7 = 1.0940
        ({"face_width_dmm": 1338}, Fit(1029, 1000)),  # 133.8 / 130.0 = 1.0292
        ({"face_height_dmm": 1131}, Fit(1000, 1015)),  # 113.1 / 111.4 = 1.0153
        ({"face_height_dmm": 1247, "face_width_dmm": 1391}, Fit(1070, 1119)),  # Farkas, men
    ],
)
def test_published_faces_give_these_fits(measures, fit):
    assert fitted(**measures) == fit


def test_the_face_s_own_width_comes_before_the_pupils():
    assert fitted(pupil_dmm=555, face_width_dmm=1338).x_permille == 1029


def test_the_worked_scale_of_a_photograph_agrees():
    """
    512 px between the pupils are 8.298 px/mm at 61.7 mm, 9.23 and 7.59 at 55.5 and 67.5 mm
    (arithmetic on ANSUR II): pixels a chart millimetre takes = pixels per mm x fit.
    """
    for pupil_dmm, pixels_per_mm in ((617, 8.298), (555, 9.23), (675, 7.59)):
        fit = fitted(pupil_dmm=pupil_dmm)
        assert pixels_per_mm * fit.x_permille / 1000 == pytest.approx(8.298, rel=0.002)


@pytest.mark.parametrize(
    ("measures", "sentence"),
    [
        ({"pupil_dmm": 64}, "A distance between the pupils of 6.4 mm is more than 30 % away"),
        ({"pupil_dmm": 803}, r"61\.7 mm. Measure again, in millimetres: 43\.2 to 80\.2"),
        ({"face_width_dmm": 900}, "face width of 90 mm"),
        ({"face_height_dmm": 1500}, "face height of 150 mm"),
        ({"face_width_dmm": 1300, "pupil_dmm": 6170}, "pupils"),  # unused, but wrong all the same
        ({"face_width_dmm": 0}, "0 mm"),
    ],
)
def test_what_cannot_be_a_face_is_refused_with_what_to_do(measures, sentence):
    with pytest.raises(MeasureError, match=sentence):
        fitted(**measures)


@pytest.mark.parametrize("key", ["zy-zy", "pupil-pupil", "n-gn"])
def test_the_limits_are_beyond_five_standard_deviations(key):
    row = MEASUREMENTS[key]
    assert row.mean_dmm * 0.3 / row.sd_dmm > 5


@pytest.mark.parametrize(
    ("name", "mean"),
    [("pupil_dmm", PUPIL), ("face_width_dmm", WIDTH), ("face_height_dmm", HEIGHT)],
)
def test_the_bounds_the_sentence_offers_are_accepted(name, mean):
    for bound in (-(-mean * 7 // 10), mean * 13 // 10):
        fit = fitted(**{name: bound})
        assert LEAST_PERMILLE <= fit.x_permille * fit.y_permille // 1000 <= MOST_PERMILLE
