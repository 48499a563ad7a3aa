"""A thread or fan shows direction and length, a bolus its amount, a planned place its own sign."""

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.atlas.mark_labels import place_amounts, place_labels
from planning.atlas.mark_reach import FAN_HALF_ANGLE, WITH_REACH, draw_reach, stretches
from planning.atlas.marks import GREY, Mark, MarkLayer, draw_marks
from planning.vocabulary import Plane, ProductKind, Technique, View
from tests.planning.atlas.svg import parse

PAIRS = re.compile(r"(-?[\d.]+) (-?[\d.]+)")


def mark(number=1, x_dmm=300, y_dmm=-350, **changes):
    chosen = {
        "plane": Plane.SUBCUTANEOUS,
        "technique": Technique.LINEAR_RETROGRADE,
        "kind": ProductKind.HA_FILLER,
        **changes,
    }
    return Mark(number, x_dmm, y_dmm, **chosen)


def reaches(svg):
    return [path.get("d") for path in parse(svg).iter("path") if path.get("class") == "reach"]


def corners(data):
    return [(float(x), float(y)) for x, y in PAIRS.findall(data)]


@pytest.mark.parametrize("technique", [Technique.LINEAR_RETROGRADE, Technique.LINEAR_ANTEROGRADE])
def test_a_thread_runs_from_its_entry_to_its_end(technique):
    (data,) = reaches(draw_marks(View.FRONT, [mark(technique=technique, reach=(180, -510))]))
    assert corners(data)[:2] == [(30.0, -35.0), (18.0, -51.0)]  # 20 mm long


def test_the_end_of_a_thread_tells_how_it_was_laid():
    drawn = {
        technique: draw_reach(technique, (0, 0), (20, 0), "#000000") for technique in WITH_REACH
    }
    assert len(set(drawn.values())) == 3
    back = corners(parse(f"<g>{drawn[Technique.LINEAR_RETROGRADE]}</g>")[1].get("d"))
    assert {x for x, _ in back[2:]} == {20.0}  # a bar across the end
    ahead = corners(parse(f"<g>{drawn[Technique.LINEAR_ANTEROGRADE]}</g>")[1].get("d"))
    assert ahead[3] == (20.0, 0.0)  # a point
    assert ahead[2][0] == ahead[4][0] < 20  # with two barbs behind it


@settings(max_examples=80, deadline=None)
@given(
    st.integers(-600, 600), st.integers(-600, 1400), st.integers(-300, 300), st.integers(-300, 300)
)
def test_a_fan_opens_evenly_on_both_sides_of_its_axis_and_is_as_long(x, y, across, down):
    length = math.hypot(across, down) / 10
    start, end = (x / 10, y / 10), ((x + across) / 10, (y + down) / 10)
    lines = stretches(Technique.FANNING, start, end)
    if length < 0.5:
        assert lines == []
        assert draw_reach(Technique.FANNING, start, end, "#000000") == ""
        return
    axis, one, other = lines
    assert axis == (start, end)
    for _, corner in (one, other):
        assert math.dist(start, corner) == pytest.approx(length)
        assert math.dist(corner, end) == pytest.approx(2 * length * math.sin(FAN_HALF_ANGLE / 2))
    assert math.dist(one[1], other[1]) == pytest.approx(2 * length * math.sin(FAN_HALF_ANGLE))


@pytest.mark.parametrize("technique", [t for t in Technique if t not in WITH_REACH])
def test_techniques_about_one_place_draw_no_reach(technique):
    with_reach, without = (
        draw_marks(View.FRONT, [mark(technique=technique, reach=reach)])
        for reach in ((500, -350), None)
    )
    assert with_reach == without


def test_length_stays_true_when_marks_are_drawn_larger():
    screen, paper = (
        draw_marks(View.FRONT, [mark(reach=(300, -150))], mark_scale=scale) for scale in (1, 2)
    )
    assert corners(reaches(screen)[0])[:2] == corners(reaches(paper)[0])[:2]
    assert screen != paper


def test_reaches_lie_under_all_marks():
    svg = draw_marks(View.FRONT, [mark(1), mark(2, 320, -300, reach=(300, -360))])
    groups = list(parse(svg))
    assert groups[0].get("class") == "reaches"
    assert [group.get("data-number") for group in groups[1:]] == ["1", "2"]


def test_a_number_keeps_clear_of_a_thread():
    free = place_labels([(0.0, 0.0, "1")])[0]
    (there,) = place_labels([(0.0, 0.0, "1")], lines=[((0.0, 0.0), (15.0, 0.0))])
    assert (free.x, free.y) == (4.7, 0)  # where the thread would run through it
    assert not (there.x > 0 and abs(there.y) < 1.6 + 0.8)


def test_a_bolus_shows_its_amount_and_a_fan_does_not():
    bolus = draw_marks(View.FRONT, [mark(technique=Technique.BOLUS, amount="0.2 mL")])
    assert bolus.count(">0.2 mL</text>") == 2  # once as white edge, once as ink
    fan = draw_marks(View.FRONT, [mark(technique=Technique.FANNING, amount="0.2 mL")])
    assert "0.2 mL" not in fan


def test_an_amount_never_moves_a_number():
    marks = [mark(n, 300 + 60 * n, -350, technique=Technique.BOLUS) for n in range(8)]
    told = [mark(n, 300 + 60 * n, -350, technique=Technique.BOLUS, amount="0.2 mL")
            for n in range(8)]  # fmt: skip

    def numbers(svg):
        return [
            (text.get("x"), text.get("y"))
            for text in parse(svg).iter("text")
            if text.get("class") == "mark-number"
        ]

    assert len(numbers(draw_marks(View.FRONT, marks))) == 8
    assert numbers(draw_marks(View.FRONT, told)) == numbers(draw_marks(View.FRONT, marks))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(-60, 60), st.integers(-60, 120)), min_size=1, max_size=20),
    st.sampled_from([1.0, 1.6]),
)
def test_amounts_cover_neither_a_mark_nor_a_number_nor_each_other(places, scale):
    marks = [(float(x), float(y), str(n)) for n, (x, y) in enumerate(places, start=1)]
    labels = place_labels(marks, scale)
    amounts = [a for a in place_amounts(marks, labels, ["0.25 mL"] * len(marks), scale) if a]
    half, rise, ring = 6 * scale, 1.5 * scale, 2.3 * scale
    for index, amount in enumerate(amounts):
        for x, y, _ in marks:
            assert abs(amount.x - x) >= half + ring or abs(amount.y - y) >= rise + ring
        for label in labels:
            assert abs(amount.x - label.x) >= half or abs(amount.y - label.y) >= rise
        for other in amounts[index + 1 :]:
            assert abs(amount.x - other.x) >= half or abs(amount.y - other.y) >= 2 * rise


def test_an_amount_is_text_and_nothing_else():
    svg = draw_marks(View.FRONT, [mark(technique=Technique.BOLUS, amount="<b>&")])
    assert "&lt;b&gt;&amp;" in svg


def test_last_session_s_points_are_grey_without_any_product_s_colour():
    marks = [mark(n, 100 * n, technique=Technique.FANNING, kind=kind, reach=(100 * n, 0))
             for n, kind in enumerate(ProductKind)]  # fmt: skip
    svg = draw_marks(View.FRONT, marks, layer=MarkLayer.EARLIER)
    inks = set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]{6})"', svg))
    assert inks == {GREY, "#ffffff", "#c9c9c9"}
