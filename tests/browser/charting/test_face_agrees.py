"""What the tablet works out by itself about a place is what the planning service says."""

import itertools
import random

import pytest

from planning.atlas.drawing import VIEW_BOXES
from planning.atlas.locate import NotOnFace, locate
from planning.atlas.mark_labels import place_amounts, place_labels
from planning.atlas.nearness import near_vessels
from planning.atlas.region_map import shapes
from planning.vocabulary import Jaw, View
from tests.browser.charting.face import FacePage

pytestmark = pytest.mark.django_db(transaction=True)

# A side view and the hands show no jaw.
DRAWINGS = [
    *((view, jaw) for view in (View.FRONT, View.NECK) for jaw in Jaw),
    *((view, Jaw.AVERAGE) for view in (View.RIGHT, View.LEFT, View.HANDS)),
]
LABELS = """async ([marks, scale, lines, words]) => {
    const { placeAmounts, placeLabels } = await import("/static/js/charting/labels.js");
    const stretches = lines.map(([[x1, y1], [x2, y2]]) => [{ x: x1, y: y1 }, { x: x2, y: y2 }]);
    const labels = placeLabels(marks, scale, stretches);
    const amounts = placeAmounts(marks, labels, words, scale, stretches);
    return [labels.map(({ x, y, far }) => [x, y, far]), amounts.map((at) => at && [at.x, at.y])];
}"""
REGIONS = """async ([view, places]) => {
    const { regions } = face.figures.get(view);
    return places.map(([x, y]) => {
        const found = regions.at(x, y);
        return found && [found.region, found.side];
    });
}"""
NEAR = """async ([view, jaw, places]) => {
    const { nearVessels } = await import("/static/js/charting/near.js");
    return places.map(([x_dmm, y_dmm]) =>
        nearVessels(face.reference, { view, x_dmm, y_dmm }, jaw)
            .map(({ vessel, distance }) => [vessel.key, distance]));
}"""


@pytest.fixture
def face(new_page, sign_in, injector) -> FacePage:
    page = new_page()
    sign_in(page, injector)
    return FacePage(page)


def grid(view: View, step_mm: int) -> list[tuple[int, int]]:
    """Tenths of a millimetre over the whole drawing, with the midline and 3 mm beside it."""
    left, top, across, down = VIEW_BOXES[view]
    xs = sorted({*range(left, left + across + 1, step_mm), -3, -2, -1, 0, 1, 2, 3})
    return [(x * 10, y * 10) for x in xs for y in range(top, top + down + 1, step_mm)]


def found_by(view: View, x: int, y: int, jaw: Jaw) -> list[str] | None:
    try:
        location = locate(view, x, y, jaw)
    except NotOnFace:
        return None
    return [location.region, location.side]


def test_numbers_and_amounts_stand_in_the_same_places(face):
    face.open()
    pick = random.Random(7)  # noqa: S311
    for count, scale in itertools.product([1, 7, 25, 40], [1.0, 0.3, 1.9]):
        marks = [
            (pick.randint(-600, 600) / 10, pick.randint(-500, 1100) / 10, str(number))
            for number in range(1, count + 1)
        ]
        lines = [
            ((x, y), (x + pick.randint(-250, 250) / 10, y + pick.randint(-250, 250) / 10))
            for x, y, _ in marks[::3]
        ]
        words = [pick.choice(["", "0.2", "0.075", "12.5"]) for _ in marks]
        here, amounts = face.run(LABELS, [marks, scale, lines, words])
        labels = place_labels(marks, scale, lines)
        assert [row[2] for row in here] == [label.far for label in labels]
        for mine, label in zip(here, labels, strict=True):
            assert mine[:2] == pytest.approx([label.x, label.y], abs=1e-6)
        for mine, there in zip(
            amounts, place_amounts(marks, labels, words, scale, lines), strict=True
        ):
            assert (mine is None) == (there is None)
            assert there is None or mine == pytest.approx([there.x, there.y], abs=1e-6)


@pytest.mark.parametrize("jaw", list(Jaw))
def test_region_and_side_are_the_same_on_every_drawing(face, jaw):
    """Every 4 mm and along the midline; not even the borders differ."""
    face.open(jaw=jaw)
    for view in [view for view, drawn in DRAWINGS if drawn is jaw]:
        places = grid(view, 4)
        here = face.run(REGIONS, [view, places])
        there = [found_by(view, *place, jaw) for place in places]
        differing = [row for row in zip(places, here, there, strict=True) if row[1] != row[2]]
        assert not differing
        assert sum(row is not None for row in here) > 400


def test_borders_to_the_tenth_of_a_millimetre_are_the_same(face):
    """Corners of the shapes themselves, and their neighbours."""
    face.open()
    for view in [View.FRONT, View.LEFT, View.RIGHT, View.NECK, View.HANDS]:
        corners = [cell for shape in shapes(view, Jaw.AVERAGE) for cell in shape.ring[::3]]
        places = [(x + by, y) for x, y in corners for by in (-1, 0, 1)]
        here = face.run(REGIONS, [view, places])
        there = [found_by(view, *place, Jaw.AVERAGE) for place in places]
        assert here == there


def test_vessels_close_by_are_the_same(face):
    face.open()
    for view, jaw in DRAWINGS:
        places = grid(view, 9)
        here = face.run(NEAR, [view, jaw, places])
        there = [
            [[near.vessel.key, near.distance_dmm] for near in near_vessels(view, *place, jaw)]
            for place in places
        ]
        assert [sorted(row) for row in here] == [sorted(row) for row in there], view
        assert any(here)
