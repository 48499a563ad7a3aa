"""Photographs taken with the camera over the earlier one, files from elsewhere, and comparing."""

import io
from datetime import timedelta

import pytest
from PIL import Image
from playwright.sync_api import expect

from planning.landmarks import Landmark
from records.comparisons.services.marks import place_marks
from records.photographs.models import Photograph
from tests.browser.watch import TABLET
from tests.factories import make_patient, make_photograph
from tests.records.sessions.pictures import SKY, drawing, encoded

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def patient(injector):
    return make_patient(injector)


@pytest.mark.main_path
def test_a_picture_is_taken_over_the_earlier_one(page_with_camera, sign_in, injector, patient):
    make_photograph(injector, patient)
    page = page_with_camera(drawing(640, 480).convert("L"))
    sign_in(page, injector)
    page.goto(f"/photographs/take/{patient.pk}/")
    expect(page.get_by_role("heading", name="Front, rest")).to_be_visible()
    page.get_by_role("button", name="Start the camera").click()
    ghost = page.locator("[data-ghost]")
    expect(ghost).to_be_visible()
    expect(page.get_by_text("Earlier picture of 25 Nov 2026")).to_be_visible()
    page.get_by_label("Earlier picture").fill("70")
    expect(ghost).to_have_css("opacity", "0.7")
    page.get_by_role("button", name="Take picture").click()
    keep = page.get_by_role("button", name="Keep, next view")
    keep.click()
    expect(page.locator("[data-said]")).to_contain_text("tick that they agree")
    page.get_by_label("The patient agrees to photographs for the record").check()
    keep.click()
    expect(page.get_by_role("heading", name="Right oblique, 45°, rest")).to_be_visible()
    expect(page.get_by_role("button", name="Front, rest")).to_contain_text("Kept")
    kept = Photograph.objects.get(source="camera")
    # What the stage shows of 640 by 480: three by four.
    assert (kept.shot.key, kept.width, kept.height) == ("front:rest", 360, 480)
    with kept.file.open() as file, Image.open(io.BytesIO(file.read())) as image:
        assert image.getpixel((180, 240))[0] > 150  # the face of the film


def test_files_are_kept_one_after_the_other(page, sign_in, injector, patient):
    sign_in(page, injector)
    page.set_viewport_size(TABLET)
    page.goto(f"/photographs/upload/{patient.pk}/")
    page.get_by_label("Choose files").set_input_files(
        [
            {"name": "front.png", "mimeType": "image/png", "buffer": encoded(kind="PNG")},
            {"name": "broken.jpg", "mimeType": "image/jpeg", "buffer": encoded()[:900]},
        ]
    )
    for select in page.get_by_label("What it shows").all():
        select.select_option("profile_left:rest")
    page.get_by_label("The patient agrees to photographs for the record").check()
    with page.expect_response(lambda answer: answer.status == 422):
        page.get_by_role("button", name="Keep them").click()
    rows = page.locator(".upload")
    expect(rows.first).to_contain_text("Kept.")
    expect(rows.last).to_contain_text("damaged or incomplete")
    expect(page.get_by_text("1 of 2 kept. Each of the others says why.")).to_be_visible()
    kept = Photograph.objects.get()
    assert (kept.shot.key, kept.source) == ("profile_left:rest", "upload")
    with kept.file.open() as file, Image.open(io.BytesIO(file.read())) as image:
        assert all(abs(a - b) < 12 for a, b in zip(image.getpixel((5, 5)), SKY, strict=True))


MARKS = {
    Landmark.EYE_IN_RIGHT: (336, 240),
    Landmark.EYE_IN_LEFT: (464, 240),
    Landmark.NOSE_BASE: (400, 330),
}
# The colour of the canvas at shares of its width and height.
COLOUR = """([across, down]) => {
    const canvas = document.querySelector("[data-canvas]");
    const at = [Math.round(canvas.width * across), Math.round(canvas.height * down)];
    return [...canvas.getContext("2d").getImageData(...at, 1, 1).data].slice(0, 3);
}"""
TAP = """([x, y]) => {
    const svg = document.querySelector("[data-scale-picture]");
    const at = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM());
    return [at.x, at.y];
}"""


def is_sky(colour: list[int]) -> bool:
    return all(abs(a - b) < 20 for a, b in zip(colour, SKY, strict=True))


def test_a_picture_is_marked_and_two_are_compared_by_touch_and_keys(
    page, sign_in, injector, patient
):
    """The later one was turned by a quarter; laid over the earlier one it stands upright."""
    first = make_photograph(injector, patient)
    turned = encoded(drawing().transpose(Image.Transpose.ROTATE_90))
    second = make_photograph(
        injector, patient, sent=turned, taken_at=first.taken_at + timedelta(days=28)
    )
    places = {landmark: (y, 799 - x) for landmark, (x, y) in MARKS.items()}
    place_marks(photograph=second, places=places, actor=injector)
    sign_in(page, injector)
    page.set_viewport_size(TABLET)
    page.goto(f"/comparisons/of-patient/{patient.pk}/")
    page.get_by_role("button", name="Compare", exact=True).click()
    expect(page.get_by_text("Not aligned")).to_be_visible()
    page.get_by_role("link", name="Marks of 25 Nov 2026").click()
    expect(page.locator("[data-scale-picture]")).to_be_visible()
    for place in MARKS.values():
        page.mouse.click(*page.evaluate(TAP, list(place)))
    page.get_by_role("button", name="Save marks").click()
    canvas = page.locator("[data-canvas]")
    expect(canvas).to_have_attribute("data-loaded", "preview")
    expect(page.get_by_text("Turned, scaled and shifted by 3 marks")).to_be_visible()
    page.keyboard.press("2")
    share = page.get_by_label("Edge of the curtain")
    page.keyboard.press("ArrowRight")
    expect(share).to_have_value("52")
    box = canvas.bounding_box()
    # All of the later picture: its blue corner, where that of the earlier one is.
    share.fill("0")
    corner = [0.5 - 0.45 * min(1, box["height"] * 4 / 3 / box["width"]), 0.05]
    page.wait_for_function(f"() => ({COLOUR})({corner})[2] > 150")
    assert is_sky(page.evaluate(COLOUR, corner))
    page.keyboard.press("3")
    expect(page.get_by_role("button", name="Shine through")).to_have_attribute(
        "aria-pressed", "true"
    )
    page.get_by_role("button", name="Larger").click()
    expect(page.locator("[data-zoom]")).to_have_text("150 %")
