"""The regions of a view as areas to touch; outlines and sides are those of the chart itself."""

import xml.etree.ElementTree as ET

from planning.atlas.areas import Area, Shade, draw_areas
from planning.atlas.drawing import SCREEN_BOXES
from planning.atlas.locate import locate
from planning.atlas.region_map import half_rings
from planning.atlas.regions import Region
from planning.vocabulary import Jaw, Side, View

SVG = "{http://www.w3.org/2000/svg}"


def drawn(view=View.FRONT, **areas):
    """`areas`: Area by region; regions without one are left bare."""
    text = draw_areas(
        view, Jaw.AVERAGE, lambda region: areas.get(region) or Area(region, region.label),
        label="Regions",
    )  # fmt: skip
    root = ET.fromstring(text)  # noqa: S314 (our own text)
    return {each.get("data-region"): each for each in root}


def paths(area) -> dict[str, str]:
    return {path.get("data-side"): path.get("class") for path in area.iter(f"{SVG}path")}


def test_every_region_of_the_view_is_there_once():
    assert set(drawn(View.HANDS)) == set(half_rings(View.HANDS, Jaw.AVERAGE))


def test_a_region_is_one_link_with_a_path_a_side():
    cheek = drawn(zygomatic=Area(Region.ZYGOMATIC, "Cheek & bone", href="/x/?a=1&b=2"))["zygomatic"]
    assert (cheek.tag, cheek.get("href"), cheek.get("aria-label")) == (
        f"{SVG}a", "/x/?a=1&b=2", "Cheek & bone",
    )  # fmt: skip
    assert paths(cheek) == {"right": "area", "left": "area"}


def test_each_side_is_shaded_by_itself_and_says_so_in_text():
    shades = {Side.LEFT: Shade("3", "3"), Side.RIGHT: Shade("1", "1")}
    cheek = drawn(zygomatic=Area(Region.ZYGOMATIC, "Cheek", shades=shades))["zygomatic"]
    assert paths(cheek) == {"right": "area area--1", "left": "area area--3"}
    for text in cheek.iter(f"{SVG}text"):
        x, y = (round(float(text.get(axis)) * 10) for axis in ("x", "y"))
        place = locate(View.FRONT, x, y)
        assert (place.region, place.side) == (Region.ZYGOMATIC, text.get("data-side"))
        assert text.text == shades[place.side].text


def test_a_region_graded_as_a_whole_says_so_once_on_the_midline():
    shades = {Side.MIDLINE: Shade("2", "2")}
    brows = drawn(glabella=Area(Region.GLABELLA, "Glabella", shades=shades))["glabella"]
    assert paths(brows) == {"right": "area area--2", "left": "area area--2"}
    texts = [(text.get("x"), text.text) for text in brows.iter(f"{SVG}text") if text.text]
    assert texts == [("0", "2")]


def test_a_side_view_shows_its_own_side_and_the_whole():
    shades = {Side.MIDLINE: Shade("2", "2")}
    for view, side in ((View.LEFT, "left"), (View.RIGHT, "right")):
        area = drawn(view, forehead=Area(Region.FOREHEAD, "Forehead", shades=shades))["forehead"]
        assert paths(area) == {side: "area area--2"}


def test_it_lies_on_the_part_that_the_screen_shows():
    text = draw_areas(View.FRONT, Jaw.AVERAGE, lambda region: None, label="Regions")
    assert 'viewBox="{} {} {} {}"'.format(*SCREEN_BOXES[View.FRONT]) in text
    assert "<path" not in text
