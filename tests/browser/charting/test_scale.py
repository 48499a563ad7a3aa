"""The tablet's scale of a photograph is the planning service's."""

import random

import pytest
from playwright.sync_api import Page

from planning.atlas.calibration import Calibration, CalibrationError, chart_place

pytestmark = pytest.mark.django_db(transaction=True)

SCRIPT = """async (rows) => {
    const { Scale } = await import("/static/js/charting/scale.js");
    return rows.map(([x1, y1, x2, y2, distance_dmm, pixels, x_dmm, y_dmm]) => {
        const scale = new Scale({ x1, y1, x2, y2, distance_dmm });
        const at = scale.chartPlace({ x_dmm, y_dmm });
        return [scale.toDmm(pixels), at.x_dmm, at.y_dmm];
    });
}"""
TROUBLE = """async (rows) => {
    const { Scale } = await import("/static/js/charting/scale.js");
    return rows.map(([x1, y1, x2, y2, distance_dmm, width, height]) =>
        Boolean(new Scale({ x1, y1, x2, y2, distance_dmm }).trouble(width, height)));
}"""


@pytest.fixture
def at_login(page) -> Page:
    page.goto("/staff/login/")
    return page


def some_rows(count: int) -> list[list[int]]:
    """Pairs of points on a picture of 2400 x 1800, a distance, a length, and a place on it."""
    pick = random.Random(7)  # noqa: S311
    rows = []
    while len(rows) < count:
        x1, x2 = pick.randrange(2400), pick.randrange(2400)
        y1, y2 = pick.randrange(1800), pick.randrange(1800)
        if abs(x1 - x2) + abs(y1 - y2) > 50:
            place = [pick.randrange(3000), pick.randrange(2400)]
            rows.append([x1, y1, x2, y2, pick.randint(50, 4000), pick.randrange(2400), *place])
    return rows


def test_lengths_and_places_on_the_chart_are_the_same(at_login):
    rows = some_rows(500)
    for row, (length, *place) in zip(rows, at_login.evaluate(SCRIPT, rows), strict=True):
        calibration = Calibration(*row[:5])
        assert length == calibration.to_dmm(row[5]), row
        assert place == pytest.approx(chart_place(calibration, *row[6:]), abs=1), row


def test_what_one_refuses_the_other_refuses(at_login):
    rows = [
        [300, 400, 812, 400, 617, 2400, 1800],
        [300, 400, 300, 400, 617, 2400, 1800],
        [0, 0, 100, 0, 50, 2400, 1800],
        [0, 0, 100, 0, 49, 2400, 1800],
        [0, 0, 100, 0, 4000, 400, 300],
        [0, 0, 100, 0, 4001, 400, 300],
        [10, 10, 12, 10, 617, 2400, 1800],
        [0, 0, 120, 0, 1000, 2400, 1800],
        [0, 0, 119, 0, 1000, 2400, 1800],
    ]
    expected = []
    for row in rows:
        try:
            Calibration(*row[:5]).check_picture(*row[5:])
            expected.append(False)
        except CalibrationError:
            expected.append(True)
    assert set(expected) == {True, False}
    assert at_login.evaluate(TROUBLE, rows) == expected
