"""The drawing as SVG: safe for the content policy, the same on screen and on paper."""

import io
import re
from itertools import pairwise

import pypdfium2 as pdfium
import pytest
import weasyprint

from planning.atlas.drawing import VIEW_BOXES, Layer, draw_view
from planning.atlas.jaw import shaped
from planning.atlas.marks import Mark
from planning.atlas.measurements import CHART_VERSION
from planning.atlas.outlines import NECK
from planning.atlas.overlays import LANDMARKS, RIDGES
from planning.atlas.region_map import DRAWN_VIEWS, half_rings
from planning.atlas.vessels import VESSELS
from planning.vocabulary import Jaw, Plane, ProductKind, Technique, View
from tests.planning.atlas.svg import SVG, parse

EVERYTHING = frozenset(Layer)
POINT = Mark(1, 300, 300, Plane.DEEP_FAT, Technique.BOLUS, ProductKind.TOXIN, "1: bolus")


def parsed(view, **options):
    return parse(draw_view(view, **options))


@pytest.mark.parametrize("view", DRAWN_VIEWS)
def test_the_drawing_is_xml_without_style_or_script(view):
    root = parsed(view, layers=EVERYTHING, marks=[POINT])
    for element in root.iter():
        assert element.tag not in (f"{SVG}style", f"{SVG}script", f"{SVG}foreignObject")
        assert not {"style", "onclick", "onload"} & set(element.attrib)
        assert "var(" not in " ".join(element.attrib.values())


@pytest.mark.parametrize("view", DRAWN_VIEWS)
def test_one_unit_is_one_millimetre_and_the_drawing_says_what_it_is(view):
    root = parsed(view, width="90mm")
    assert root.get("viewBox") == " ".join(str(n) for n in VIEW_BOXES[view])
    assert (root.get("role"), root.get("width")) == ("img", "90mm")
    assert root.get("data-chart-version") == CHART_VERSION
    assert view.label.lower().split()[0] in root.get("aria-label").lower()


@pytest.mark.parametrize(
    ("view", "texts"),
    [
        (View.FRONT, ["patient’s right", "patient’s left"]),
        (View.RIGHT, ["patient’s right"]),
        (View.LEFT, ["patient’s left"]),
        (View.NECK, ["patient’s right", "patient’s left"]),
        (View.HANDS, ["patient’s right", "patient’s left"]),
    ],
)
def test_each_view_says_whose_side_it_shows(view, texts):
    root = parsed(view)
    labels = [text for text in root.iter(f"{SVG}text") if text.get("class") == "atlas-label"]
    assert [label.text for label in labels] == texts


@pytest.mark.parametrize("view", [View.FRONT, View.NECK, View.HANDS])
def test_the_patient_s_right_is_written_on_the_viewer_s_left(view):
    labels = [t for t in parsed(view).iter(f"{SVG}text") if t.get("class") == "atlas-label"]
    places = {label.text: float(label.get("x")) for label in labels}
    assert places["patient’s right"] < 0 < places["patient’s left"]


@pytest.mark.parametrize("view", DRAWN_VIEWS)
def test_ids_are_unique_and_every_reference_has_its_target(view):
    for prefix in ("", "page2"):
        text = draw_view(view, layers=EVERYTHING, prefix=prefix)
        ids = re.findall(r'\bid="([^"]+)"', text)
        assert len(ids) == len(set(ids))
        assert all(name.startswith(prefix or f"atlas-{view}") for name in ids)
        used = set(re.findall(r"url\(#([^)]+)\)", text)) | set(re.findall(r'href="#([^"]+)"', text))
        assert used <= set(ids)


def test_ids_of_the_views_do_not_meet_on_one_page():
    ids = [name for view in DRAWN_VIEWS for name in re.findall(r'\bid="([^"]+)"', draw_view(view))]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(
    ("view", "count"),
    [
        (View.FRONT, 8 + 2 * 12),
        (View.RIGHT, 20),
        (View.NECK, 4 + 2 * 3),
        (View.HANDS, 2 * 11),
    ],
)
def test_the_regions_layer_has_each_region_once_per_side_with_a_title(view, count):
    paths = [
        p for p in parsed(view, layers={Layer.REGIONS}).iter(f"{SVG}path") if p.get("data-region")
    ]
    assert len(paths) == len({(p.get("data-region"), p.get("data-side")) for p in paths}) == count
    assert {p.get("data-region") for p in paths} == set(half_rings(view, Jaw.AVERAGE))
    assert all(p.find(f"{SVG}title").text for p in paths)


def test_layers_appear_only_when_asked_for():
    plain, full = draw_view(View.FRONT), draw_view(View.FRONT, layers=EVERYTHING)
    for name in ("data-region", "data-vessel", "data-landmark", "atlas-grid"):
        assert name not in plain
        assert name in full


@pytest.mark.parametrize("view", DRAWN_VIEWS)
def test_every_vessel_and_landmark_of_a_view_shows_its_source(view):
    root = parsed(view, layers={Layer.VESSELS, Layer.LANDMARKS})
    titles = [title.text for title in root.iter(f"{SVG}title")]
    shown = [item for item in (*VESSELS, *LANDMARKS, *RIDGES) if item.on(view)]
    assert len(titles) == len(shown) > 1
    for item in shown:
        assert any(item.name in title and item.source in title for title in titles), item.key


def test_each_vessel_landmark_and_ridge_is_on_some_view_and_the_keys_differ():
    items = (*VESSELS, *LANDMARKS, *RIDGES)
    assert all(any(item.on(view) for view in DRAWN_VIEWS) for item in items)
    assert len({item.key for item in items}) == len(items)


@pytest.mark.parametrize(
    "key",
    # The landmarks a clinic asked the chart for.
    ["orbital_rim", "infraorbital_foramen", "zygomatic_arch", "temporal_crest", "alar_base",
     "oral_commissure", "mental_foramen", "gonial_angle"],
)  # fmt: skip
def test_the_landmarks_stand_on_front_and_side(key):
    for view in (View.FRONT, View.RIGHT, View.LEFT):
        assert f'data-landmark="{key}"' in draw_view(view, layers={Layer.LANDMARKS})


@pytest.mark.parametrize("view", DRAWN_VIEWS)
def test_every_vessel_of_a_view_tells_its_usual_depth(view):
    titles = [title.text for title in parsed(view, layers={Layer.VESSELS}).iter(f"{SVG}title")]
    for vessel in VESSELS:
        if vessel.on(view):
            assert any(vessel.depth in t and vessel.depth_source in t for t in titles), vessel.key


@pytest.mark.parametrize(
    ("key", "numbers"),
    # Depths in mm; all marks: read (abstracts), see each vessel's own source.
    [
        ("supratrochlear", ["4.2", "5.9", "4.45", "3.53"]),
        ("supraorbital", ["5.68", "5.53"]),
        ("angular", ["5.06", "3.13", "1.02"]),
        ("superior_labial", ["5.6", "5.3", "3 mm"]),
        ("inferior_labial", ["5.2", "4.2"]),
    ],
)
def test_published_depths_are_quoted(key, numbers):
    (vessel,) = (vessel for vessel in VESSELS if vessel.key == key)
    assert all(number in vessel.depth_source for number in numbers)


def test_the_two_depths_of_the_facial_artery_that_disagree_are_both_told():
    (vessel,) = (vessel for vessel in VESSELS if vessel.key == "facial")
    assert "8.9" in vessel.depth
    assert "13.7" in vessel.depth


@pytest.mark.parametrize(
    ("key", "x_mm", "off_by"),
    [
        # Distances from the midline; all marks: read.
        ("supraorbital_notch", 25.0, 2.5),  # Cutright 2003 25; Korean skulls 22.7
        ("infraorbital_foramen", 27.2, 1.0),  # Korean skulls, n = 124
        ("mental_foramen", 22.0, 1.0),  # Cutright 2003, 80 heads
    ],
)
def test_foramina_lie_at_their_published_distance_from_the_midline(key, x_mm, off_by):
    (spot,) = (spot for spot in LANDMARKS if spot.key == key)
    assert abs(spot.front[0] - x_mm) <= off_by


def test_the_facial_artery_passes_the_mouth_corner_at_the_published_distance():
    # Yang 2014, 60 half faces: 13.5 ± 5.4 mm lateral to the mouth corner. Mark: read.
    (facial,) = (vessel for vessel in VESSELS if vessel.key == "facial")
    beside = [x for x, y in facial.front if abs(y - 68.9) < 0.1]
    assert beside == [pytest.approx(25.1 + 13.5, abs=1)]


def test_the_orbital_rim_lies_the_published_distance_above_the_infraorbital_foramen():
    # Cutright 2003, 80 heads: 6.4 mm. Mark: read.
    (rim,) = (ridge for ridge in RIDGES if ridge.key == "orbital_rim")
    (foramen,) = (spot for spot in LANDMARKS if spot.key == "infraorbital_foramen")
    below = [y for x, y in rim.front if abs(x - foramen.front[0]) < 0.1]
    assert [foramen.front[1] - y for y in below] == [pytest.approx(6.4, abs=0.5)]


def test_the_middle_temporal_vein_runs_the_published_distance_above_the_arch():
    # CT of 200, Aesthetic Plast Surg: 2.0 to 2.8 cm above the zygomatic arch. Mark: read.
    (vein,) = (vessel for vessel in VESSELS if vessel.key == "middle_temporal_vein")
    (arch,) = (ridge for ridge in RIDGES if ridge.key == "zygomatic_arch")
    top = min(y for _, y in arch.side)
    assert all(20 <= top - y <= 28 for _, y in vein.side)


def test_an_unusual_width_cannot_break_out_of_its_attribute():
    assert parsed(View.FRONT, width='"><script>').get("width") == '"><script>'


def test_a_frame_shows_a_part_of_the_view():
    assert parsed(View.FRONT, frame=(-90, -80, 180, 200)).get("viewBox") == "-90 -80 180 200"


@pytest.mark.parametrize("view", DRAWN_VIEWS)
def test_no_gradient_is_given_in_units_of_its_shape(view):
    """Viewers built on poppler left such gradients out: skin, lips and shades stayed white."""
    gradients = [part for part in parsed(view).iter() if part.tag.endswith("Gradient")]
    assert {gradient.get("gradientUnits") for gradient in gradients} <= {"userSpaceOnUse"}


@pytest.mark.parametrize("view", DRAWN_VIEWS)
def test_no_gradient_is_round(view):
    """Of a round gradient the same viewers showed one quarter, or a square."""
    assert list(parsed(view).iter(f"{SVG}radialGradient")) == []


# --- on paper ---

SCALE = 3  # pixels per millimetre


def printed(drawing):
    """A function (x mm, y mm) -> colour of the front view printed at 3 pixels per millimetre."""
    left, top, across, down = VIEW_BOXES[View.FRONT]
    page = (
        f"<style>@page{{size:{across}mm {down}mm;margin:0}}body{{margin:0}}"
        f"svg{{display:block;width:{across}mm;height:{down}mm}}</style>{drawing}"
    )
    document = pdfium.PdfDocument(io.BytesIO(weasyprint.HTML(string=page).write_pdf()))
    picture = document[0].render(scale=SCALE * 25.4 / 72).to_pil().convert("RGB")

    def colour(x_mm, y_mm):
        return picture.getpixel((round((x_mm - left) * SCALE), round((y_mm - top) * SCALE)))

    return colour


@pytest.fixture(scope="module")
def paper():
    return printed(draw_view(View.FRONT, layers={Layer.VESSELS}, marks=[POINT]))


def test_paper_shows_skin_hair_lips_iris_and_vessels_in_their_own_colours(paper):
    red, green, blue = paper(40, 60)  # cheek
    assert red > 215 > 190 < blue <= green <= red
    assert sum(paper(30, -80)) < sum(paper(20, -40)) - 60  # hair darker than the forehead
    lip = paper(14, 73)
    assert lip[0] - lip[2] > 40
    assert max(paper(34.5, 9)) < 190  # iris
    vessel = paper(25.6, -14)
    assert vessel[0] - vessel[1] > 60
    assert max(paper(-95, 100)) >= 250  # nothing beside the neck
    assert paper(-95, 100) == (255, 255, 255)


def test_soft_shades_end_without_an_edge_on_paper(paper):
    """WeasyPrint reads a default radius of 50 % too wide: shades ended in a visible ellipse."""
    # Straight down through the shade under the lower lip, from its middle to past its lower edge.
    column = [sum(paper(0, 84 + step / 4)) for step in range(40)]
    assert column[-1] - column[0] > 30
    assert max(abs(a - b) for a, b in pairwise(column)) <= 15


def test_a_mark_is_printed_where_it_belongs(paper):
    assert max(paper(30, 30)) > 240  # white figure of a toxin bolus
    assert max(paper(31.4, 30)) < 180  # its dark disc


@pytest.mark.parametrize("jaw", list(Jaw))
def test_the_shade_under_the_jaw_stays_on_the_neck(jaw):
    """The shade was drawn for the average jaw and stood beside the neck of the narrower one."""
    colour = printed(draw_view(View.FRONT, jaw))
    ((edge, height),) = shaped([NECK[1]], jaw)
    assert colour(edge + 1.3, height) == (255, 255, 255)
    assert colour(edge - 1.3, height) != (255, 255, 255)
