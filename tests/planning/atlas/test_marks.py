"""Marks can be told apart by shape alone, and stay apart when points lie close."""

import re
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.atlas.mark_labels import place_labels
from planning.atlas.marks import RING_MM, Mark, MarkLayer, draw_marks, legend
from planning.vocabulary import Plane, ProductKind, Technique, View
from tests.planning.atlas.svg import parse


def mark(number=1, x_dmm=300, y_dmm=-350, **changes):
    chosen = {
        "plane": Plane.SUBCUTANEOUS,
        "technique": Technique.BOLUS,
        "kind": ProductKind.HA_FILLER,
        **changes,
    }
    return Mark(number, x_dmm, y_dmm, **chosen)


def shape_only(svg):
    """The drawing without colours, names and titles: what is left on a black and white print."""
    ink = re.sub(r'(fill|stroke)="#(?!ffffff)[0-9a-f]{6}"', r'\1="ink"', svg)
    return re.sub(r'<title>.*?</title>| (data-\w+|class)="[^"]*"', "", ink)


def test_every_technique_plane_and_kind_looks_different_in_black_and_white():
    combinations = list(product(Technique, Plane, ProductKind))
    drawn = {
        shape_only(draw_marks(View.FRONT, [mark(technique=t, plane=p, kind=k)]))
        for t, p, k in combinations
    }
    assert len(drawn) == len(combinations) == 7 * 7 * 6


def test_two_marks_five_millimetres_apart_do_not_touch():
    widest_ring_line = max(
        float(width)
        for plane in Plane
        for width in re.findall(
            r'stroke-width="([\d.]+)"', draw_marks(View.FRONT, [mark(plane=plane)])
        )
        if float(width) < 1  # the white edge of the number is wider
    )
    assert 2 * RING_MM + widest_ring_line / 2 <= 5


def test_the_mark_stands_at_its_millimetres_with_its_number_and_its_point():
    svg = draw_marks(View.FRONT, [mark(7, 123, -45, key="a-b", label="7: bolus, left")])
    assert 'transform="translate(12.3 -4.5)"' in svg
    assert 'data-number="7"' in svg
    assert 'data-point="a-b"' in svg
    assert "<title>7: bolus, left</title>" in svg
    assert svg.count(">7</text>") == 2  # once as white edge, once as ink


def test_what_people_type_cannot_break_the_drawing():
    svg = draw_marks(View.FRONT, [mark(label='<script>"&', key='"><x')])
    root = parse(svg)
    assert root.find("g/title").text == '<script>"&'
    assert "<script" not in svg


def test_no_marks_is_an_empty_group_that_the_screen_can_swap():
    root = parse(draw_marks(View.LEFT, []))
    assert (root.get("data-marks"), root.get("data-view"), len(root)) == ("today", "left", 0)


def test_earlier_points_look_different_from_today_s():
    drawn = {shape_only(draw_marks(View.FRONT, [mark()], layer=layer)) for layer in MarkLayer}
    assert len(drawn) == len(MarkLayer) == 2


def test_the_legend_explains_every_sign_once():
    entries = legend()
    assert [entry.term for entry in entries] == [*Technique, *Plane, *ProductKind]
    assert len({shape_only(entry.svg) for entry in entries}) == len(entries)
    for entry in entries:
        assert parse(entry.svg).get("aria-label") == entry.label


def boxes(places):
    return [
        (p.x - 1.2 * len(p.label), p.y - 1.6, p.x + 1.2 * len(p.label), p.y + 1.6) for p in places
    ]


def test_numbers_of_a_tight_row_cover_neither_each_other_nor_a_mark():
    row = [(20.0 + 5 * n, 30.0, str(n + 1)) for n in range(6)]
    places = place_labels(row)
    for index, (left, top, right, bottom) in enumerate(boxes(places)):
        for x, y, _ in row:
            nearest = (min(max(x, left), right), min(max(y, top), bottom))
            assert (x - nearest[0]) ** 2 + (y - nearest[1]) ** 2 > 1.5**2
        for other in boxes(places)[index + 1 :]:
            apart = left >= other[2] or other[0] >= right or top >= other[3] or other[1] >= bottom
            assert apart, (places[index], other)


def test_a_number_far_from_its_mark_gets_a_line_back():
    crowd = [
        (0.0 + 5 * column, 5.0 * row, f"{column}{row}") for column in range(4) for row in range(4)
    ]
    places = place_labels(crowd)
    far = [place for place in places if place.far]
    assert far
    assert all("<path" in place.leader("#000000") for place in far)
    assert all(place.leader("#000000") == "" for place in places if not place.far)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(-600, 600),
            st.integers(-600, 1400),
            st.sampled_from(Plane),
            st.sampled_from(Technique),
            st.sampled_from(ProductKind),
        ),
        max_size=25,
    )
)
def test_any_set_of_points_draws_the_same_way_each_time_and_loses_none(rows):
    marks = [Mark(n, *row) for n, row in enumerate(rows, start=1)]
    svg = draw_marks(View.FRONT, marks)
    assert svg == draw_marks(View.FRONT, marks)
    numbers = [g.get("data-number") for g in parse(svg)]
    assert numbers == [str(mark.number) for mark in marks]


@pytest.mark.parametrize("technique", list(Technique))
def test_the_figure_fits_inside_its_ring(technique):
    svg = draw_marks(View.FRONT, [mark(technique=technique, plane=Plane.INTRADERMAL)])
    group = svg[svg.index("translate") : svg.index("<text")]
    numbers = [abs(float(n)) for n in re.findall(r'(?<=[MLHVQ ,"])-?\d+(?:\.\d+)?', group)]
    assert max(numbers[2:]) <= RING_MM + 0.5


def font_sizes(svg):
    return {float(size) for size in re.findall(r'font-size="([\d.]+)"', svg)}


def test_marks_for_paper_are_larger_than_the_face_and_stand_where_they_stood():
    screen, paper = (
        draw_marks(View.FRONT, [mark(7, 123, -45)], mark_scale=scale) for scale in (1, 1.5)
    )
    assert 'transform="translate(12.3 -4.5)"' in screen
    assert 'transform="translate(12.3 -4.5) scale(1.5)"' in paper
    assert font_sizes(paper) == {size * 1.5 for size in font_sizes(screen)} != set()


@pytest.mark.parametrize("scale", [1, 1.5, 2])
def test_larger_numbers_keep_clear_of_larger_marks(scale):
    row = [(x * 6.0 * scale, 0.0, str(number)) for number, x in enumerate(range(6), start=8)]
    reach, half, rise = 2.7 * scale, 2.15 * scale / 2, 1.6 * scale
    for place in place_labels(row, scale):
        beside = half * len(place.label) + reach
        assert all(abs(place.x - x) > beside or abs(place.y - y) > rise + reach for x, y, _ in row)
