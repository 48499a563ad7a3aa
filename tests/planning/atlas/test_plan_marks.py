"""A plan on the chart: labels that lie in their regions and on nothing else."""

from xml.etree import ElementTree

from planning.atlas.locate import locate
from planning.atlas.plan_marks import HALF_HEIGHT_MM, PlanMark, draw_plan, spread
from planning.atlas.regions import Region
from planning.plan_progress import LineState
from planning.vocabulary import Jaw, ProductKind, Side, View
from records.drawings.queries import region_places

SCALE = 1.5


def full_plan() -> list[PlanMark]:
    """A line for both sides of every region of the front view."""
    return [
        PlanMark(at["x_dmm"], at["y_dmm"], "0.6", ProductKind.HA_FILLER, key=f"{region} {side}")
        for region, sides in region_places(Jaw.AVERAGE).items()
        for side, at in sides.items()
        if at["view"] == View.FRONT and side != Side.MIDLINE
    ]


def test_labels_of_a_plan_of_the_whole_face_do_not_cover_each_other():
    marks = full_plan()
    assert len(marks) >= 34
    places = spread(marks, SCALE)
    width, height = 2 * marks[0].half_width * SCALE, 2 * HALF_HEIGHT_MM * SCALE
    for number, (x1, y1) in enumerate(places):
        for x2, y2 in places[:number]:
            assert abs(x1 - x2) >= width - 1e-6 or abs(y1 - y2) >= height - 1e-6


def test_a_label_alone_stands_in_its_region():
    for mark in full_plan():
        [(x, y)] = spread([mark], SCALE)
        found = locate(View.FRONT, round(x * 10), round(y * 10), Jaw.AVERAGE)
        assert f"{found.region} {found.side}" == mark.key
        assert Region(found.region)


def test_states_are_told_by_shape_and_in_words():
    marks = [
        PlanMark(0, 300 * n, "0.2", ProductKind.HA_FILLER, state, label=f"<{state.label}>", key="7")
        for n, state in enumerate(LineState)
    ]
    root = ElementTree.fromstring(draw_plan(View.FRONT, marks))  # noqa: S314 (our own text)
    groups = list(root)
    assert [group.find("title").text for group in groups] == [f"<{s.label}>" for s in LineState]
    assert len({ElementTree.tostring(group.find("g")) for group in groups}) == len(LineState)
    dashed = [group.find("rect").get("stroke-dasharray") is not None for group in groups]
    assert dashed == [True, True, False, False]
