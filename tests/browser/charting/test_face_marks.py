"""What the face shows: points of today, the plan and the last session, and where each is kept."""

import re

import pytest
from playwright.sync_api import expect

from planning.atlas.locate import locate
from planning.atlas.marks import Mark, draw_marks
from planning.vocabulary import Plane, ProductKind, Technique, View
from tests.browser.charting.face import FacePage, point
from tests.browser.watch import TABLET, TABLET_UPRIGHT

pytestmark = pytest.mark.django_db(transaction=True)

SHOWN = "const shown = (what) => [...document.querySelectorAll(`.view.is-shown ${what}`)];"
NUMBER_HEIGHTS = f"""() => {{
    {SHOWN}
    const high = (number) => Number(number.getAttribute("font-size")) * number.getScreenCTM().d;
    return shown(".mark__number").map(high);
}}"""
# Width and height of each mark's white disc.
DISCS = f"""() => {{
    {SHOWN}
    return shown("[data-point] circle:first-of-type").map((disc) => {{
        const {{ width, height }} = disc.getBoundingClientRect();
        return [width, height];
    }});
}}"""
NUMBER_BOXES = f"""() => {{
    {SHOWN}
    return shown(".mark__number").map((number) => {{
        const {{ left, top, right, bottom }} = number.getBoundingClientRect();
        return [left, top, right, bottom];
    }});
}}"""
PIECES = """(key) => {
    const body = document.querySelector(`[data-point="${key}"] > g > g:nth-of-type(1)`);
    const named = ({ attributes }) => [...attributes].map(({ name, value }) => [name, value]);
    const pieces = [...body.querySelectorAll("circle, path")];
    return pieces.map((piece) => [piece.tagName, Object.fromEntries(named(piece))]);
}"""
WATCH = """() => {
    window.before = [...document.querySelectorAll("[data-point]")];
    window.changes = 0;
    const watch = new MutationObserver((rows) => { window.changes += rows.length; });
    watch.observe(document.querySelector(".marks--today"), { childList: true });
}"""
TOUCH = """([x, y]) => {
    const target = document.elementFromPoint(x, y);
    const touch = { bubbles: true, clientX: x, clientY: y, pointerId: 5, pointerType: "touch" };
    for (const type of ["pointerdown", "pointerup"]) {
        target.dispatchEvent(new PointerEvent(type, touch));
    }
    return document.querySelectorAll(".marks--today [data-point]").length;
}"""


@pytest.fixture
def face(new_page, sign_in, injector) -> FacePage:
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    return FacePage(page)


def forty() -> list[dict]:
    """Forty points over the face, 12 mm apart across and 14 down."""
    places = [(x, y) for y in range(-40, 90, 18) for x in range(-42, 43, 14)][:40]
    return [point(number, *place) for number, place in enumerate(places, 1)]


def test_a_mark_is_made_of_the_pieces_of_the_printed_note(face):
    """Kind, technique and plane by shape: the elements are those of `planning.atlas.marks`."""
    points = [
        point(
            1, 0, 30, unit=12, kind="toxin", measure="dose", technique="bolus", plane="intradermal"
        ),
        point(2, 20, 60, unit=13, kind="other_filler", technique="fanning", plane="deep_fat"),
    ]
    face.open(points=points)
    for shown in points:
        mark = Mark(
            1,
            0,
            0,
            Plane(shown["plane"]),
            Technique(shown["technique"]),
            ProductKind(shown["kind"]),
        )
        printed = re.findall(r"<(circle|path)\b([^>]*?)/>", draw_marks(View.FRONT, [mark]))
        drawn = face.run(PIECES, shown["key"])
        assert drawn == [
            [tag, dict(re.findall(r'([\w-]+)="([^"]*)"', rest))] for tag, rest in printed
        ]


@pytest.mark.parametrize("viewport", [TABLET, TABLET_UPRIGHT], ids=["lying", "upright"])
def test_forty_numbers_are_legible_without_enlarging(face, viewport):
    """12 CSS pixels at least (common practice, no source), and none over another."""
    face.page.set_viewport_size(viewport)
    face.open(points=forty())
    assert len(face.run(NUMBER_HEIGHTS)) == 40
    assert min(face.run(NUMBER_HEIGHTS)) >= 12
    boxes = face.run(NUMBER_BOXES)
    for index, (left, top, right, bottom) in enumerate(boxes):
        for other in boxes[index + 1 :]:
            across = min(right, other[2]) - max(left, other[0])
            down = min(bottom, other[3]) - max(top, other[1])
            # Line boxes are higher than digits.
            assert across <= 1 or down <= 6


def test_enlarging_moves_marks_apart_and_keeps_their_size(face):
    face.open(points=forty())
    before = face.at(0, 14), face.at(14, 14)
    height, ring = face.run(NUMBER_HEIGHTS)[0], face.run(DISCS)[0]
    face.page.get_by_role("button", name="Enlarge").click()
    face.page.get_by_role("button", name="Enlarge").click()
    after = face.at(0, 14), face.at(14, 14)
    assert after[1][0] - after[0][0] == pytest.approx((before[1][0] - before[0][0]) * 2.25)
    assert face.run(NUMBER_HEIGHTS)[0] == pytest.approx(height, rel=0.01)
    assert face.run(DISCS)[0] == pytest.approx(ring, rel=0.02)
    face.page.get_by_role("button", name="Show the whole drawing").click()
    assert face.at(0, 14) == pytest.approx(before[0])


def test_a_new_mark_leaves_the_others_alone(face):
    """Made, moved and removed one at a time; the elements of the others are the same ones."""
    face.open(points=forty()[:-1])
    face.run(WATCH)
    face.tap(30, 100)
    expect(face.marks).to_have_count(40)
    assert face.run("() => before.every((node) => node.isConnected)")
    assert face.run("() => changes") == 1


def test_the_mark_is_there_before_the_finger_has_left_the_task(face):
    """Drawn in the handler itself: no promise, timer or frame between touch and mark."""
    face.open()
    assert face.run(TOUCH, list(face.at(20, 40))) == 1


def test_where_a_point_is_kept_is_seen_by_shape(face):
    face.open(points=[point(1, -20, 40)])
    face.tap(20, 40)
    stored, waiting = face.marks.nth(0), face.marks.nth(1)
    expect(stored).to_have_attribute("data-where", "clinic")
    expect(stored.locator(".mark__halo")).to_have_count(0)
    expect(waiting).to_have_attribute("data-where", "tablet")
    expect(waiting.locator("circle.mark__halo")).to_have_attribute("stroke-dasharray", "0.01 1.26")
    expect(waiting.locator("title")).to_contain_text("stored on this tablet")
    face.show(points=[point(1, -20, 40), point(2, 20, 40)])
    expect(face.page.locator(".mark__halo")).to_have_count(0)


def test_a_point_that_needs_a_person_carries_a_sign(face):
    face.open()
    face.tap(20, 40)
    face.run("() => { app.records[0].state = 'refused'; app.changed(); }")
    expect(face.marks.first).to_have_attribute("data-where", "attention")
    expect(face.marks.first.locator("g.mark__halo path")).to_have_count(2)
    expect(face.marks.first.locator("title")).to_contain_text("needs attention")


def test_a_bolus_shows_its_amount_and_a_thread_its_way(face):
    thread = {"technique": "linear_anterograde", "reach_x_dmm": 400, "reach_y_dmm": 300}
    face.open(points=[point(1, -20, 40, amount=150), point(2, 20, 30, **thread)])
    expect(face.marks.nth(0).locator(".mark__amount")).to_have_text("0.15")
    expect(face.marks.nth(1).locator(".mark__amount")).to_have_count(0)
    expect(face.marks.nth(1).locator(".mark__reach path")).to_have_count(2)
    fan = {"technique": "fanning", "reach_x_dmm": 400, "reach_y_dmm": 300}
    face.show(points=[point(2, 20, 30, **fan)])
    assert "A20 20" in face.marks.first.locator(".mark__reach path").get_attribute("d")


def test_the_drawing_fits_the_patient_and_marks_are_not_stretched(face):
    """Chart places stay as stored; the face under them is scaled (planning/atlas/fit.py)."""
    face.open(points=[point(1, 40, 50)], fit={"x": 1100, "y": 950})
    drawing = face.page.locator("[data-figure=front] .face__paper svg > g").first
    assert drawing.get_attribute("transform") == "scale(1.1 0.95)"
    ((width, height),) = face.run(DISCS)
    assert width == pytest.approx(height, abs=0.01)
    profile = face.page.locator("[data-figure=right] .face__paper svg > g").first
    assert profile.get_attribute("transform") == "scale(1 0.95)"
    face.tap(-40, 50)
    assert face.acts[0]["x_dmm"] == pytest.approx(-400, abs=4)
    assert face.acts[0]["region"] == locate(View.FRONT, -400, 500).region


def test_last_session_lies_under_today_when_asked_for_and_is_remembered(face):
    last = {"started_at": "2026-05-01T10:00:00Z", "url": "", "points": [point(1, 0, 100)]}
    face.open(last=last, points=[point(1, 20, 40)])
    earlier = face.page.locator(".view.is-shown .marks--earlier .mark")
    expect(earlier).to_have_count(0)
    face.page.get_by_label("Layers").click()
    face.page.get_by_role("button", name="Last session’s points").click()
    expect(earlier).to_have_count(1)
    face.open(last=last)
    expect(earlier).to_have_count(1)


@pytest.mark.parametrize(
    ("layer", "inside"),
    [
        ("Landmarks", ".atlas-landmarks"),
        ("Vessels to beware of", ".vessel"),
        ("5 mm grid", ".atlas-grid"),
    ],
)
def test_layers_of_the_drawing_can_be_shown_and_hidden(face, layer, inside):
    face.open()
    shown = face.page.locator(f".view.is-shown {inside}").first
    expect(shown).to_be_hidden()
    face.page.get_by_label("Layers").click()
    button = face.page.get_by_role("button", name=layer)
    button.click()
    expect(button).to_have_attribute("aria-pressed", "true")
    expect(shown).to_be_visible()
    button.click()
    expect(shown).to_be_hidden()


def test_the_plan_has_signs_of_its_own_and_is_ticked_off(face):
    plan = {"head": None, "removed": False, "view": "front", "region": "zygomatic", "side": "left"}
    face.open(markings=[plan | {"key": "m1", "x_dmm": 500, "y_dmm": 330, "point": None}])
    marking = face.page.locator("[data-marking=m1]")
    expect(marking.locator(".mark__number")).to_have_text("P1")
    face.tap(50, 33)
    act = face.acts[0]
    assert (act["kind"], act["marking"], act["x_dmm"], act["y_dmm"]) == ("log", "m1", 500, 330)
    expect(marking).to_have_class(re.compile("is-given"))


def test_close_to_a_vessel_a_caution_stands_with_its_source_and_blocks_nothing(face):
    """The supraorbital artery 25 mm from the midline at the rim (Cutright 2003), as drawn."""
    face.open()
    face.tap(25.5, -14)
    assert len(face.acts) == 1
    caution = face.page.locator("[data-near=supraorbital]")
    expect(caution).to_contain_text("close to the supraorbital artery")
    expect(caution).not_to_contain_text("Usual depth")
    caution.click()
    expect(caution).to_contain_text("Usual depth")
    expect(caution).to_contain_text("Folia Morphol 2025")
    expect(face.page.locator("[data-beware-chip]")).to_be_visible()


def test_the_patients_own_side_is_written_on_every_view(face):
    face.open()
    for view, words in {
        "front": ["Patient’s right", "Patient’s left"],
        "right": ["Patient’s right side", ""],
        "left": ["", "Patient’s left side"],
        "neck": ["Patient’s right", "Patient’s left"],
        "hands": ["Patient’s right", "Patient’s left"],
    }.items():
        face.run("(view) => face.show(view)", view)
        for part, word in zip(["start", "end"], words, strict=True):
            expect(face.page.locator(f"[data-side-{part}]")).to_have_text(word)


@pytest.mark.parametrize("viewport", [TABLET, TABLET_UPRIGHT], ids=["lying", "upright"])
def test_every_view_is_one_touch_away_with_photographs_too(face, viewport):
    face.page.set_viewport_size(viewport)
    picture = {
        "head": None, "removed": False, "width": 600, "height": 800, "x1": 100, "y1": 300,
        "x2": 400, "y2": 300, "distance_dmm": 600, "url": "",
    }  # fmt: skip
    face.open(pictures=[picture | {"key": f"p{number}"} for number in (1, 2, 3)])
    expect(face.page.locator("[data-show]")).to_have_count(8)
    for button in face.page.locator("[data-show]").all()[1:]:
        name = button.get_attribute("data-show")
        button.click()
        expect(face.page.locator(f"[data-figure={name}].is-shown")).to_be_visible()
    # 60 mm over 300 pixels: 5 pixels a millimetre.
    assert face.run("() => face.figure.view.box") == [0, 0, 120, 160]
