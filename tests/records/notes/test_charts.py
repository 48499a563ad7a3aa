"""The charts of a note: which views, how large, and every mark in its place on the paper."""

import re
from dataclasses import replace
from itertools import combinations

import pikepdf
import pytest
from PIL import Image
from weasyprint import HTML

from clinic.printing.pdf import render_pdf
from planning.atlas.drawing import VIEW_BOXES
from planning.atlas.mark_labels import FONT_MM
from planning.atlas.marks import COLOURS, RING_MM, Mark, draw_marks
from planning.vocabulary import Plane, ProductKind, Technique, View
from records.notes.charts import FACES, LINE_WIDTH_MM, NUMBER_MM, SCALES, chart_rows, signs_of
from records.notes.services import note_html
from records.sessions.models import TreatmentSession
from records.sessions.queries.points import session_points
from records.sessions.services.pictures import calibrate
from tests.factories import make_picture, make_point
from tests.pdf import MM, fonts, opened, page_picture, tags

SMALLEST_MM = 6.5 / MM  # of a printed number; common practice for small print, no source


def rows_of(session):
    return chart_rows(session, list(session_points(session)))


def views(session) -> list[list[View]]:
    return [[chart.view for chart in row.charts] for row in rows_of(session)]


def millimetres_of(svg: str) -> float:
    """Printed millimetres per millimetre of face."""
    width = float(re.search(r' width="([\d.]+)mm"', svg)[1])
    return width / float(re.search(r'viewBox="\S+ \S+ (\S+)', svg)[1])


def sizes_of(svg: str) -> list[float]:
    return [float(size) for size in re.findall(r'font-size="([\d.]+)"', svg)]


def test_views_with_points_alone_and_the_front_first(unsigned, filler):
    assert views(unsigned) == [[View.FRONT, View.RIGHT]]
    make_point(unsigned, filler, view="left", x_dmm=450, y_dmm=-150, amount=5)
    assert views(unsigned) == [[View.FRONT], [View.RIGHT, View.LEFT]]
    unsigned.points.filter(view="front").delete()
    assert views(unsigned) == [[View.RIGHT, View.LEFT]]


def test_without_points_the_empty_front_view(unsigned):
    assert [[chart.view for chart in row.charts] for row in chart_rows(unsigned, [])] == [
        [View.FRONT]
    ]


@pytest.mark.parametrize("with_left", [False, True])
def test_numbers_are_large_enough_and_all_views_have_one_scale(unsigned, filler, with_left):
    if with_left:
        make_point(unsigned, filler, view="left", x_dmm=450, y_dmm=-150, amount=5)
    charts = [chart for row in rows_of(unsigned) for chart in row.charts]
    scales = [millimetres_of(chart.svg) for chart in charts]
    assert max(scales) - min(scales) < 0.002
    for chart, scale in zip(charts, scales, strict=True):
        sizes = sizes_of(chart.svg)
        assert max(sizes) * scale == pytest.approx(NUMBER_MM, rel=0.01)
        assert min(sizes) * scale >= SMALLEST_MM  # amounts are smaller than numbers


def test_a_point_below_the_face_widens_the_frame(unsigned, filler):
    make_point(unsigned, filler, x_dmm=0, y_dmm=1300, amount=5)
    front = rows_of(unsigned)[0].charts[0]
    _, top, _, height = re.search(r'viewBox="(\S+) (\S+) (\S+) (\S+)"', front.svg).groups()
    bottom = int(top) + int(height)
    assert FACES[View.FRONT][3] < 140 <= bottom <= sum(VIEW_BOXES[View.FRONT][1::2])


def test_the_signs_are_those_of_the_points(unsigned):
    signs = signs_of(list(session_points(unsigned)))
    assert {group.name: [entry.label for entry in group.entries] for group in signs} == {
        "Technique": ["Bolus", "Fanning"],
        "Plane": ["Subcutaneous", "Intramuscular", "Supraperiosteal"],
        "Product": ["Hyaluronic acid filler", "Toxin"],
    }


# --- neck, hands, photographs ---


@pytest.fixture
def everywhere(unsigned, filler):
    """`unsigned` with a fan on the neck, a thread on a hand and a bolus on each of two pictures."""
    make_point(unsigned, filler, view="neck", x_dmm=200, y_dmm=1500, technique="fanning",
               reach_x_dmm=200, reach_y_dmm=1700, amount=20)  # fmt: skip
    make_point(unsigned, filler, view="hands", x_dmm=-760, y_dmm=600, amount=20,
               technique="linear_retrograde", reach_x_dmm=-760, reach_y_dmm=300)  # fmt: skip
    for _ in range(2):
        picture = make_picture(unsigned)
        # 800 x 600 pixels; 400 px are 50 mm: the picture shows 100 x 75 mm.
        calibrate(picture=picture, x1=100, y1=300, x2=500, y2=300, distance_dmm=500,
                  actor=unsigned.injector)  # fmt: skip
        make_point(unsigned, filler, view="picture", picture_id=picture.pk, x_dmm=500, y_dmm=375,
                   region="zygomatic", side="left", amount=30)  # fmt: skip
    return unsigned


def test_neck_and_hands_share_a_row_and_photographs_come_last(everywhere):
    assert views(everywhere) == [
        [View.FRONT, View.RIGHT],
        [View.NECK, View.HANDS],
        [View.PICTURE, View.PICTURE],
    ]
    labels = [chart.label for row in rows_of(everywhere) for chart in row.charts]
    assert labels[-2:] == ["Photograph 1", "Photograph 2"]
    assert [chart.has_sides for row in rows_of(everywhere) for chart in row.charts] == [
        True, False, True, True, False, False,
    ]  # fmt: skip


def test_every_row_fits_the_line_and_every_number_is_large_enough(everywhere):
    for row in rows_of(everywhere):
        widths = [float(re.search(r' width="([\d.]+)mm"', chart.svg)[1]) for chart in row.charts]
        assert sum(widths) <= LINE_WIDTH_MM
        for chart in row.charts:
            scale = millimetres_of(chart.svg)
            assert max(sizes_of(chart.svg)) * scale == pytest.approx(NUMBER_MM, rel=0.01)
            assert min(sizes_of(chart.svg)) * scale >= SMALLEST_MM


def test_a_photograph_s_point_stands_at_its_millimetres(everywhere):
    picture = rows_of(everywhere)[2].charts[0].svg
    assert 'viewBox="0 0 100 75"' in picture
    assert "translate(50 37.5)" in picture
    assert picture.count("<image ") == 1
    assert picture.count("data-point=") == 1


def test_only_points_on_the_neck_need_no_empty_face(unsigned, filler):
    make_point(unsigned, filler, view="neck", x_dmm=200, y_dmm=1500, amount=20)
    unsigned.points.exclude(view="neck").delete()
    assert views(unsigned) == [[View.NECK]]


def test_a_photograph_whose_file_is_gone_is_spoken_of(everywhere):
    for picture in everywhere.pictures.all():
        picture.file.storage.delete(picture.file.name)
    picture = rows_of(everywhere)[2].charts[0].svg
    assert "The photograph is missing." in picture
    assert "<image" not in picture
    assert "data-point=" in picture


def test_a_thread_that_ends_outside_the_frame_widens_it(unsigned, filler):
    make_point(unsigned, filler, x_dmm=0, y_dmm=1200, technique="linear_retrograde", amount=5,
               reach_x_dmm=0, reach_y_dmm=1450)  # fmt: skip
    front = rows_of(unsigned)[0].charts[0]
    _, top, _, height = re.search(r'viewBox="(\S+) (\S+) (\S+) (\S+)"', front.svg).groups()
    assert int(top) + int(height) >= 150


# --- on paper ---

INK = {kind: tuple(bytes.fromhex(colour[1:])) for kind, colour in COLOURS.items()}
SKIN = (248, 238, 229)


def near(picture: Image.Image, colour: tuple[int, int, int]) -> int:
    """How many pixels have that colour, but for a little at the edges of shapes."""
    counts = picture.getcolors(picture.width * picture.height)
    return sum(
        count
        for count, rgb in counts
        if all(abs(a - b) <= 6 for a, b in zip(rgb, colour, strict=True))
    )


@pytest.fixture
def paper(signed) -> bytes:
    return render_pdf(note_html(TreatmentSession.objects.get(pk=signed.pk)))


def test_face_and_marks_are_printed_in_their_colours(paper):
    picture = page_picture(paper, dots_per_mm=8)
    assert near(picture, SKIN) > 20_000
    assert near(picture, INK[ProductKind.HA_FILLER]) > 300
    assert near(picture, INK[ProductKind.TOXIN]) > 150
    assert near(picture, INK[ProductKind.OTHER_FILLER]) == 0
    assert near(picture, (255, 255, 255)) > 0.4 * picture.width * picture.height


DOTS = 12
CELL_MM = 8


@pytest.fixture(scope="module")
def printed_marks():
    """Every technique, plane and kind as a note prints it, in grey, each on a field of its own."""
    mark = Mark(1, 0, 0, Plane.SUBCUTANEOUS, Technique.BOLUS, ProductKind.HA_FILLER)
    kinds = [replace(mark, technique=word) for word in Technique]
    kinds += [replace(mark, plane=word) for word in Plane]
    kinds += [replace(mark, kind=word) for word in ProductKind]
    scale = SCALES[3]
    side = CELL_MM / scale
    svgs = "".join(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{CELL_MM}mm" height="{CELL_MM}mm" '
        f'viewBox="{-side / 2} {-side / 2} {side} {side}"><title>m</title>'
        f"{draw_marks(View.FRONT, [one], mark_scale=NUMBER_MM / (FONT_MM * scale))}</svg>"
        for one in kinds
    )
    page = (
        f"<style>@page{{size:{CELL_MM}mm {CELL_MM * len(kinds)}mm;margin:0}}body{{margin:0}}"
        f"svg{{display:block}}</style>{svgs}"
    )
    strip = page_picture(HTML(string=page).write_pdf(), dots_per_mm=DOTS).convert("L")
    reach = round(RING_MM * NUMBER_MM / FONT_MM * DOTS) + 3
    pictures = []
    for index in range(len(kinds)):
        x, y = CELL_MM * DOTS // 2, round((index + 0.5) * CELL_MM * DOTS)
        pictures.append(strip.crop((x - reach, y - reach, x + reach, y + reach)))
    return pictures[:7], pictures[7:14], pictures[14:]


@pytest.mark.parametrize("group", [0, 1, 2], ids=["technique", "plane", "kind"])
def test_each_sign_is_neither_empty_nor_a_black_spot(printed_marks, group):
    for picture in printed_marks[group]:
        levels = picture.tobytes()
        assert min(levels) < 110
        assert 0.05 < sum(level < 128 for level in levels) / len(levels) < 0.6


@pytest.mark.parametrize("group", [0, 1, 2], ids=["technique", "plane", "kind"])
def test_signs_differ_in_grey(printed_marks, group):
    """At least one dot in forty of the mark differs by more than 40 of 255 greys."""
    for one, other in combinations(printed_marks[group], 2):
        pairs = list(zip(one.tobytes(), other.tobytes(), strict=True))
        assert sum(abs(a - b) > 40 for a, b in pairs) > len(pairs) / 40


def test_figures_say_what_they_show_and_tables_name_their_heads(paper):
    document = opened(paper)
    found = list(tags(document))
    figures = [str(tag.Alt) for tag in found if tag.S == "/Figure"]
    assert figures[0].startswith("Face chart, front view.")
    assert figures[1] == "Face chart, right side of the patient."
    assert all(figures)
    heads = [tag for tag in found if tag.S == "/TH"]
    assert len(heads) >= 9 + 4  # of the table of points: its columns and its rows
    cells = [tag for tag in found if tag.S == "/TD"]
    assert all("/Headers" in tag.A for tag in cells)


def test_a_photograph_is_printed_with_its_points_and_read_out(everywhere):
    pdf = render_pdf(note_html(TreatmentSession.objects.get(pk=everywhere.pk)))
    document = opened(pdf)
    figures = [str(tag.Alt) for tag in tags(document) if tag.S == "/Figure"]
    assert "Photograph 2 of the patient, with the numbers of the points on it." in figures
    assert any(figure.startswith("Neck and upper chest") for figure in figures)
    assert any(figure.startswith("Backs of both hands") for figure in figures)
    sizes = {
        (int(part.Width), int(part.Height))
        for part in document.objects
        if isinstance(part, pikepdf.Stream) and part.get("/Subtype") == "/Image"
    }
    assert (800, 600) in sizes
    assert pdf == render_pdf(note_html(TreatmentSession.objects.get(pk=everywhere.pk)))


def test_the_note_is_pdf_ua_with_the_project_s_fonts_embedded(paper):
    document = opened(paper)
    assert document.open_metadata()["pdfuaid:part"] == "1"
    assert document.Root.MarkInfo.Marked
    assert str(document.Root.Lang) == "en"
    embedded = fonts(document)
    assert {name[:11] for name in embedded} == {"Clinic-Sans"}
    for descriptor in embedded.values():
        assert {"/FontFile2", "/FontFile3"} & set(descriptor.keys())
