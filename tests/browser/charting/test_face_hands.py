"""Fingers, mouse and keys on the face."""

import pytest
from playwright.sync_api import expect

from tests.browser.charting.face import FacePage, point
from tests.browser.watch import TABLET

pytestmark = pytest.mark.django_db(transaction=True)

ZOOM = "() => face.figure.sight.zoom"


@pytest.fixture
def face(new_page, sign_in, injector) -> FacePage:
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    return FacePage(page)


def planned(x_mm: float, y_mm: float) -> dict:
    place = {"view": "front", "x_dmm": round(x_mm * 10), "y_dmm": round(y_mm * 10)}
    rest = {"region": "zygomatic", "side": "left", "head": None, "removed": False, "point": None}
    return {"key": "00000000-0000-4000-8000-000000000099", **place, **rest}


def by(at: tuple[float, float], x: float, y: float) -> tuple[float, float]:
    return at[0] + x, at[1] + y


def test_a_touch_places_a_point_where_the_finger_was(face):
    face.open()
    face.tap(50, 33)
    (act,) = face.acts
    assert (act["kind"], act["view"], act["region"], act["side"]) == (
        "log", "front", "zygomatic", "left",
    )  # fmt: skip
    # To the nearest pixel, which is less than half a millimetre.
    assert (act["x_dmm"], act["y_dmm"]) == pytest.approx((500, 330), abs=5)
    assert act["reach_x_dmm"] is None


def test_a_touch_off_the_face_places_nothing_and_says_so(face):
    face.open()
    face.tap(76, -70)
    assert face.acts == []
    face.says("Nothing placed: that is off the drawing.")
    expect(face.page.locator("[data-face-hint]")).to_be_visible()


def test_a_held_finger_shows_a_cross_above_it_and_places_there(face):
    face.open()
    at = face.at(30, 60)
    fingers = face.fingers
    fingers.down(at)
    expect(face.page.locator(".face__aim")).to_be_attached()
    fingers.move(by(at, 4, 0))
    fingers.up()
    expect(face.page.locator(".face__aim")).to_have_count(0)
    (act,) = face.acts
    scale = face.run("() => face.figure.sight.scale")
    assert act["y_dmm"] == pytest.approx(600 - 56 / scale * 10, abs=5)


def test_a_drag_draws_the_way_of_a_fan(face):
    face.open()
    face.run("() => screen.set({ technique: 'fanning' })")
    fingers, start, end = face.fingers, face.at(40, 50), face.at(52, 62)
    fingers.down(start)
    fingers.move(by(start, 12, 12))
    expect(face.page.locator(".face__line path")).to_have_count(1)
    fingers.move(end)
    fingers.up()
    (act,) = face.acts
    assert (act["x_dmm"], act["y_dmm"]) == pytest.approx((400, 500), abs=5)
    assert (act["reach_x_dmm"], act["reach_y_dmm"]) == pytest.approx((520, 620), abs=5)
    expect(face.page.locator(".face__line path")).to_have_count(0)


def test_a_finger_that_rested_still_draws_the_way_of_a_thread(face):
    face.open()
    face.run("() => screen.set({ technique: 'linear_retrograde' })")
    fingers, start, end = face.fingers, face.at(40, 50), face.at(52, 62)
    fingers.down(start)
    expect(face.page.locator(".face__aim")).to_be_attached()
    fingers.move(by(start, 12, 12))
    expect(face.page.locator(".face__line path").first).to_be_attached()
    fingers.move(end)
    fingers.up()
    (act,) = face.acts
    assert (act["x_dmm"], act["y_dmm"]) == pytest.approx((400, 500), abs=5)
    assert (act["reach_x_dmm"], act["reach_y_dmm"]) == pytest.approx((520, 620), abs=5)
    expect(face.page.locator(".face__aim")).to_have_count(0)


def test_a_thread_without_its_drag_is_placed_where_the_finger_rested(face):
    face.open()
    face.run("() => screen.set({ technique: 'linear_retrograde' })")
    fingers = face.fingers
    fingers.down(face.at(40, 50))
    expect(face.page.locator(".face__aim")).to_be_attached()
    fingers.up()
    expect(face.page.locator(".face__aim")).to_have_count(0)
    (act,) = face.acts
    assert (act["x_dmm"], act["y_dmm"]) == pytest.approx((400, 500), abs=5)
    assert act["reach_x_dmm"] is None


def test_the_way_of_a_thread_is_drawn_from_a_planned_place(face):
    face.open(markings=[planned(40, 50)])
    face.run("() => screen.set({ technique: 'linear_retrograde' })")
    fingers, start = face.fingers, face.at(40.5, 50.5)
    fingers.down(start)
    fingers.move(by(start, 12, 12))
    expect(face.page.locator(".face__line path").first).to_be_attached()
    fingers.move(face.at(52.5, 62.5))
    fingers.up()
    (act,) = face.acts
    assert (act["kind"], act["x_dmm"], act["y_dmm"]) == ("log", 400, 500)
    assert (act["reach_x_dmm"], act["reach_y_dmm"]) == pytest.approx((520, 620), abs=5)
    assert act["marking"] == planned(40, 50)["key"]
    expect(face.page.locator(".face__line path")).to_have_count(0)


def test_a_drag_without_such_a_technique_has_no_way(face):
    face.open()
    fingers, start = face.fingers, face.at(40, 50)
    fingers.down(start)
    fingers.move(by(start, 30, 30))
    fingers.up()
    assert face.acts[0]["reach_x_dmm"] is None


def test_two_fingers_enlarge_about_their_middle_and_place_nothing(face):
    face.open()
    fingers = face.fingers
    one, other = face.at(-20, 30), face.at(20, 30)
    middle = ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
    fingers.down(one)
    fingers.down(one, other)
    fingers.move(by(one, -80, 0), by(other, 80, 0))
    apart = other[0] - one[0]
    assert face.run(ZOOM) == pytest.approx((apart + 160) / apart, rel=0.01)
    assert face.at(0, 30) == pytest.approx(middle, abs=1)
    fingers.move(by(one, -80, 40), by(other, 80, 40))
    assert face.at(0, 30) == pytest.approx(by(middle, 0, 40), abs=1)
    fingers.up(by(one, -80, 40))
    fingers.up()
    assert face.acts == []
    expect(face.marks).to_have_count(0)
    # What the screen shows is where a touch places.
    face.tap(10, 30)
    assert (face.acts[0]["x_dmm"], face.acts[0]["y_dmm"]) == pytest.approx((100, 300), abs=3)


def test_a_second_finger_or_a_palm_takes_a_place_back(face):
    face.open()
    fingers, at = face.fingers, face.at(30, 60)
    fingers.down(at)
    fingers.down(at, by(at, 60, 60))
    fingers.up(at)
    fingers.up()
    assert face.acts == []
    fingers.down(at, radiusX=70, radiusY=60)
    fingers.up()
    assert face.acts == []


def test_a_touch_on_a_mark_chooses_it_and_a_drag_moves_it_with_its_way(face):
    thread = {"technique": "linear_retrograde", "reach_x_dmm": 300, "reach_y_dmm": 600}
    face.open(points=[point(1, 20, 40, **thread)])
    face.tap(20, 40)
    assert face.run("() => screen.point.number") == 1
    assert face.acts == []
    fingers, start = face.fingers, face.at(20, 40)
    end = face.at(30, 45)
    fingers.down(start)
    fingers.move(by(start, 12, 6))
    fingers.move(end)
    fingers.up()
    (act,) = face.acts
    assert act["kind"] == "move"
    assert (act["x_dmm"], act["y_dmm"]) == pytest.approx((300, 450), abs=5)
    assert (act["reach_x_dmm"], act["reach_y_dmm"]) == pytest.approx((400, 650), abs=5)


def test_the_end_of_a_thread_is_dragged_by_its_handle(face):
    thread = {"technique": "linear_retrograde", "reach_x_dmm": 400, "reach_y_dmm": 600}
    face.open(points=[point(1, 20, 40, **thread)])
    face.tap(20, 40)
    expect(face.page.locator("[data-handle]")).to_be_visible()
    fingers, start = face.fingers, face.at(40, 60)
    fingers.down(start)
    fingers.move(by(start, -10, 0))
    fingers.move(face.at(20, 70))
    fingers.up()
    (act,) = face.acts
    assert (act["kind"], act["x_dmm"], act["y_dmm"]) == ("move", 200, 400)
    assert (act["reach_x_dmm"], act["reach_y_dmm"]) == pytest.approx((200, 700), abs=5)


def test_a_point_dragged_off_the_face_stays_where_it_was(face):
    face.open(points=[point(1, 20, 40)])
    fingers, start = face.fingers, face.at(20, 40)
    fingers.down(start)
    fingers.move(by(start, 20, 20))
    fingers.move(face.at(76, -70))
    fingers.up()
    assert face.acts == []
    face.says("Not moved")
    stands = face.marks.first.locator("xpath=*[last()]").get_attribute("transform")
    assert stands.startswith("translate(20 40)")


def test_the_wheel_enlarges_about_the_pointer(face):
    face.open()
    at = face.at(20, 40)
    face.page.mouse.move(*at)
    face.page.mouse.wheel(0, -400)
    face.page.wait_for_function("() => face.figure.sight.zoom > 1.5")
    assert face.at(20, 40) == pytest.approx(at, abs=1)
    for _ in range(12):
        face.page.mouse.wheel(0, -400)
    face.page.wait_for_function("() => face.figure.sight.zoom === 6")


def test_another_hands_session_is_read_and_not_changed(face):
    face.open(mine=False)
    face.tap(30, 60)
    assert face.acts == []
    face.says("This session is read here, not changed.")


def test_a_point_by_keyboard_alone(face):
    face.open()
    face.page.locator("[data-figure=front] svg").first.focus()
    face.page.keyboard.press("ArrowRight")
    face.says("Nasal region, midline.")
    for _ in range(9):
        face.page.keyboard.press("Shift+ArrowRight")
    face.says("Zygomatic region, left.")
    face.page.keyboard.press("Alt+ArrowDown")
    face.page.keyboard.press("Enter")
    (act,) = face.acts
    assert (act["x_dmm"], act["y_dmm"]) == (460, 305)
    assert (act["region"], act["side"]) == ("zygomatic", "left")


def press_on_point(face, *keys: str) -> None:
    """Keys for the point under the cross, once it is chosen."""
    face.page.locator("[data-figure=front] svg").first.focus()
    for key in ["ArrowLeft", "ArrowRight", " ", *keys]:
        face.page.keyboard.press(key)


def test_the_chosen_point_by_keyboard(face):
    face.open(points=[point(1, 20, 40)])
    press_on_point(face, "ArrowUp", "Shift+ArrowLeft", "m", "u")
    acts = [(act["kind"], act["x_dmm"], act["y_dmm"]) for act in face.acts]
    assert acts == [("move", 200, 395), ("move", 150, 395), ("log", -150, 395)]
    assert face.run("() => app.undone") == 1


def test_the_way_of_a_thread_by_keyboard(face):
    face.open(points=[point(1, 20, 40, technique="linear_retrograde")])
    press_on_point(face, "Alt+Shift+ArrowDown")
    face.says("5 mm long.")
    (act,) = face.acts
    assert (act["x_dmm"], act["y_dmm"]) == (200, 400)
    assert (act["reach_x_dmm"], act["reach_y_dmm"]) == (200, 450)


def test_a_thread_brought_back_to_its_point_has_no_way(face):
    thread = {"technique": "linear_retrograde", "reach_x_dmm": 200, "reach_y_dmm": 410}
    face.open(points=[point(1, 20, 40, **thread)])
    press_on_point(face, "Alt+ArrowUp")
    face.says("No direction.")
    (act,) = face.acts
    assert (act["reach_x_dmm"], act["reach_y_dmm"]) == (None, None)


def test_a_bolus_has_no_way_by_keyboard_either(face):
    face.open(points=[point(1, 20, 40)])
    press_on_point(face, "Alt+ArrowUp")
    face.says("Only a fan or thread has a direction.")
    assert face.acts == []


def test_a_thread_of_a_signed_session_stays_as_it_is(face):
    """It said a length that no thread had."""
    signed = {"at": "2026-11-25T10:00:00Z", "name": "Ida Injector", "url": ""}
    face.open(points=[point(1, 20, 40, technique="linear_retrograde")], signed=signed)
    press_on_point(face, "Alt+Shift+ArrowDown")
    face.says("Point 1 chosen")
    assert face.acts == []


def test_views_and_nearness_by_keyboard(face):
    face.open()
    face.page.locator("[data-figure=front] svg").first.focus()
    face.page.keyboard.press("+")
    assert face.run(ZOOM) == pytest.approx(1.5)
    face.page.keyboard.press("-")
    assert face.run(ZOOM) == 1
    face.page.keyboard.press("5")
    expect(face.page.locator("[data-figure=hands].is-shown")).to_be_visible()
    face.says("Hands.")
    face.page.keyboard.press("1")
    expect(face.page.locator("[data-figure=front].is-shown")).to_be_visible()


def test_every_act_of_the_fingers_works_with_a_mouse(face):
    face.open()
    face.page.mouse.click(*face.at(50, 33))
    assert face.acts[0]["region"] == "zygomatic"
    face.page.mouse.move(*face.at(50, 33))
    face.page.mouse.down()
    face.page.mouse.move(*face.at(40, 40), steps=4)
    face.page.mouse.up()
    assert face.acts[1]["kind"] == "move"
    assert (face.acts[1]["x_dmm"], face.acts[1]["y_dmm"]) == pytest.approx((400, 400), abs=5)
