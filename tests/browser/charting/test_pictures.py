"""Marking on the patient's own photograph, on a tablet in front of the real server."""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from planning.atlas.calibration import Calibration, suggested
from records.sessions.models import InjectionEntry, SessionPicture
from tests.browser.test_accessibility import violations
from tests.browser.watch import KEPT, TABLET
from tests.factories import make_point, refreshed
from tests.records.sessions.pictures import drawing, encoded

pytestmark = pytest.mark.django_db(transaction=True)

# Where `drawing` puts the pupils of a picture of 800 x 600 pixels.
PUPILS = ((336, 240), (464, 240))


class Tablet:
    """The photographs of one session, with fingers."""

    def __init__(self, page: Page, session) -> None:
        self.page, self.url = page, f"/charting/#{session.key}"

    def open(self) -> "Tablet":
        self.page.goto(self.url)
        self.wait()
        return self

    def wait(self) -> None:
        expect(self.page.locator("[data-figure=front] path[data-region]").first).to_be_attached()

    def photos(self) -> None:
        self.page.click("#tab-pictures")

    def choose(self, sent: bytes | None = None, name: str = "face.jpg") -> None:
        self.photos()
        file = {"name": name, "mimeType": "image/jpeg", "buffer": sent or encoded()}
        self.page.locator("[data-picture-file]").last.set_input_files(file)

    def handle(self, index: int) -> Locator:
        """One end of the scale, once it is drawn: it says its place from then on."""
        handle = self.page.locator(f"[data-handle='{index}']")
        expect(handle).to_have_attribute("aria-valuetext", re.compile("pixels"))
        return handle

    def put_handle(self, index: int, x: int, y: int) -> None:
        """By keyboard, to the very pixel."""
        handle = self.handle(index)
        handle.focus()
        said = handle.get_attribute("aria-valuetext") or ""
        from_x, from_y = map(int, re.findall(r"\d+", said))
        for by, more, less in (
            (x - from_x, "ArrowRight", "ArrowLeft"),
            (y - from_y, "ArrowDown", "ArrowUp"),
        ):
            key = more if by > 0 else less
            for _ in range(abs(by) // 10):
                self.page.keyboard.press(f"Shift+{key}")
            for _ in range(abs(by) % 10):
                self.page.keyboard.press(key)

    def type_distance(self, digits: str) -> None:
        self.page.click("[data-scale-distance]")
        for digit in digits:
            self.page.click(f"[data-digit='{digit}']")
        self.page.click("[data-pad-done]")

    def calibrate(self, by: str = "pupils", digits: str = "64") -> None:
        expect(self.page.locator("[data-sheet=scale]")).to_be_visible()
        self.page.click(f"[data-scale-by={by}]")
        for index, place in enumerate(PUPILS):
            self.put_handle(index, *place)
        self.type_distance(digits)
        self.page.click("[data-scale-done]")

    @property
    def key(self) -> str:
        return self.page.locator("[data-picture]").last.get_attribute("data-picture") or ""

    def tap(self, x_mm: float, y_mm: float) -> None:
        script = """([id, x, y]) => {
            const svg = document.querySelector(`[data-figure="${id}"] [data-overlay]`);
            const at = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM());
            return [at.x, at.y];
        }"""
        at = self.page.evaluate(script, [f"picture-{self.key}", x_mm, y_mm])
        self.page.touchscreen.tap(*at)

    def offline(self, is_offline: bool = True) -> None:
        # What is kept for a time without network is there by now.
        self.page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
        self.page.context.set_offline(is_offline)

    def rows(self, where: str = ""):
        wanted = f"[data-where={where}]" if where else ""
        return self.page.locator(f"[data-row][data-view=picture]{wanted}")

    def shown_size(self) -> list[int]:
        """Pixels of the picture that the view shows."""
        script = """async (id) => {
            const image = new Image();
            image.src = document.querySelector(`[data-figure="${id}"] image`).getAttribute("href");
            await image.decode();
            return [image.naturalWidth, image.naturalHeight];
        }"""
        return self.page.evaluate(script, f"picture-{self.key}")


@pytest.fixture
def tablet(new_page, sign_in, injector, session, unit) -> Tablet:
    """The session has a point, so that the next one is given as that one was."""
    make_point(session, unit)
    page = new_page(viewport=TABLET, has_touch=True, **KEPT)
    sign_in(page, injector)
    return Tablet(page, session).open()


def test_a_photograph_is_marked_without_network_and_stored_later(tablet, session):
    tablet.offline()
    tablet.choose()
    tablet.calibrate(digits="64")  # 128 px are 64 mm: 2 px a millimetre, 5 tenths a pixel
    tablet.tap(240, 190)
    expect(tablet.rows("tablet")).to_have_count(1)

    tablet.page.reload()
    tablet.wait()
    expect(tablet.rows("tablet")).to_have_count(1)
    assert tablet.shown_size() == [800, 600]
    tablet.photos()
    series = tablet.page.get_by_role("link", name="Today’s series")
    expect(series).to_have_attribute("aria-disabled", "true")

    tablet.offline(False)
    expect(tablet.rows("clinic")).to_have_count(1)
    leads_to = f"/photographs/take/{session.patient_id}/?kind=ha_filler&session={session.pk}"
    expect(series).to_have_attribute("href", leads_to)
    picture = SessionPicture.objects.get()
    assert (picture.session, picture.width, picture.height) == (session, 800, 600)
    scale = Calibration(*PUPILS[0], *PUPILS[1], distance_dmm=640)
    assert {name: getattr(picture, name) for name in vars(scale)} == vars(scale)
    assert picture.on_pupils
    point = InjectionEntry.objects.get(picture=picture)
    assert (point.x_dmm, point.y_dmm) == pytest.approx((2400, 1900), abs=5)
    location = suggested(scale, point.x_dmm, point.y_dmm)
    assert location is not None
    assert (point.region, point.side) == (location.region, location.side)


def test_the_picture_stays_in_sight_while_it_is_sent(tablet):
    """It was gone between its storing and the next snapshot."""
    tablet.choose()
    tablet.page.locator("[data-sheet=scale] [data-dialog-close]").last.click()
    expect(tablet.page.locator("[data-picture] .where--clinic")).to_be_visible()


def test_a_photograph_says_the_sides_that_the_pupils_tell(tablet):
    start, end = (tablet.page.locator(f"[data-side-{part}]") for part in ("start", "end"))
    tablet.choose()
    expect(tablet.page.locator("[data-sheet=scale]")).to_contain_text("A selfie may be mirrored")
    tablet.calibrate(by="ruler")
    expect(tablet.page.locator(f"[data-figure=picture-{tablet.key}].is-shown")).to_be_visible()
    expect(start).to_be_empty()
    tablet.page.click("[data-picture-scale]")
    tablet.calibrate(by="pupils")
    expect(start).to_have_text("Patient’s right")
    expect(end).to_have_text("Patient’s left")


def test_a_suggestion_can_be_changed(tablet):
    tablet.choose()
    tablet.calibrate()
    tablet.tap(240, 190)
    tablet.page.locator("[data-picture-place]").click()
    tablet.page.click("[data-say-region=neck][data-say-side=midline]")
    expect(tablet.rows("clinic")).to_have_attribute("data-region", "neck")
    point = InjectionEntry.objects.get(view="picture")
    assert (point.region, point.side) == ("neck", "midline")


def test_with_a_ruler_each_point_is_asked_where_it_is(tablet):
    tablet.choose()
    tablet.calibrate(by="ruler", digits="100")
    tablet.tap(100, 100)
    expect(tablet.page.locator("[data-sheet=place]")).to_be_visible()
    expect(tablet.rows()).to_have_count(0)
    tablet.page.click("[data-say-region=temple][data-say-side=right]")
    expect(tablet.rows("clinic")).to_have_count(1)
    point = InjectionEntry.objects.get(view="picture")
    assert (point.region, point.side) == ("temple", "right")
    assert not SessionPicture.objects.get().on_pupils


def test_a_finger_moves_a_handle_and_keeps_its_distance(tablet):
    tablet.choose()
    stage = tablet.page.locator("[data-scale-picture]")
    handle = tablet.handle(1)
    before = handle.get_attribute("aria-valuetext")
    box = handle.locator(".scale__rim").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    mouse = tablet.page.mouse
    mouse.move(x + 10, y + 10)
    mouse.down()
    expect(handle).to_have_attribute("aria-valuetext", before)
    mouse.move(x + 60, y + 10)
    mouse.up()
    expect(handle).not_to_have_attribute("aria-valuetext", before)
    moved = handle.locator(".scale__rim").bounding_box()
    assert (moved["x"] - box["x"], moved["y"] - box["y"]) == pytest.approx((50, 0), abs=2)
    expect(stage).to_be_visible()


def test_the_measured_pupil_distance_is_offered(tablet, session):
    session.pupil_dmm = 625
    session.save(update_fields=["pupil_dmm"])
    tablet.open()
    tablet.page.reload()
    tablet.wait()
    # What the tablet kept is shown first; the measure comes with the clinic's answer.
    tablet.page.wait_for_function(
        "() => charting.session(charting.sessionKeys[0])?.measures.pupil_dmm === 625"
    )
    tablet.choose()
    expect(tablet.page.locator("[data-scale-distance]")).to_have_text("62.5 mm")


def test_without_a_distance_of_a_face_there_is_no_scale(tablet):
    tablet.choose()
    pad, sheet = (tablet.page.locator(f"[data-sheet={name}]") for name in ("keypad", "scale"))
    for digits in ("4", "401"):
        tablet.type_distance(digits)
        expect(pad.locator("[data-problem]")).to_contain_text("from 5 to 400 mm")
        pad.locator("[data-dialog-close]").click()
    tablet.page.click("[data-scale-done]")
    expect(sheet.locator("[data-problem]")).to_contain_text("Type the distance")
    sheet.locator("[data-dialog-close]").last.click()
    expect(tablet.page.locator("[data-picture]")).to_contain_text("No scale yet")
    expect(tablet.page.locator(f"[data-figure=picture-{tablet.key}]")).to_have_count(0)


def test_a_file_is_made_small_or_refused_with_a_sentence(tablet):
    trouble = tablet.page.locator("[data-picture-trouble]")
    tablet.choose(b"no picture")
    expect(trouble).to_contain_text("not a picture")
    tablet.choose(b"no picture", name="face.heic")
    expect(trouble).to_contain_text("HEIC")
    expect(tablet.page.locator("[data-picture]")).to_have_count(0)
    tablet.choose(encoded(drawing(3000, 1500)))
    stage = tablet.page.locator("[data-scale-picture]")
    expect(stage).to_have_attribute("viewBox", "0 0 2400 1200")


def test_a_picture_goes_only_without_points(tablet):
    tablet.choose()
    tablet.calibrate()
    tablet.tap(240, 190)
    drop = tablet.page.locator("[data-picture-drop]")
    expect(drop).to_be_disabled()
    tablet.page.click("#tab-points")
    tablet.rows().locator("[data-choose]").click()
    tablet.page.keyboard.press("Delete")
    tablet.photos()
    expect(drop).to_be_enabled()
    drop.click()
    expect(tablet.page.locator("[data-picture]")).to_have_count(0)
    expect(tablet.page.locator("[data-figure^=picture-]")).to_have_count(0)
    tablet.page.wait_for_function("() => charting.waiting.length === 0")
    assert refreshed(SessionPicture.objects.get()).removed_at is not None


def test_tab_and_sheets_are_accessible(tablet):
    """WCAG 2.2 A and AA by axe-core, light and dark."""
    tablet.choose()
    expect(tablet.page.locator("[data-sheet=scale]")).to_be_visible()
    assert violations(tablet.page) == []
    tablet.calibrate(by="ruler")
    assert violations(tablet.page) == []
    tablet.tap(100, 100)
    expect(tablet.page.locator("[data-sheet=place]")).to_be_visible()
    assert violations(tablet.page) == []
