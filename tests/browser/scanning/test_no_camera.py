"""Why there is no picture, and what to do: each reason that a browser gives."""

import pytest
from django.template.loader import render_to_string
from playwright.sync_api import expect

FIELD = render_to_string("scanning/_field.html", {"id": "id_scan", "name": "scan"})
OTHERWISE = "use a scanner, or type what is printed under the code."
SHOW = """([field, error]) => {
    document.body.innerHTML = field;
    if (error) {
        const refuse = () => Promise.reject(new DOMException("", error));
        Object.defineProperty(window, "isSecureContext", { value: true, configurable: true });
        Object.defineProperty(navigator, "mediaDevices", {
            value: { getUserMedia: refuse }, configurable: true,
        });
    }
    return import("/static/js/scanning/field.js");
}"""


@pytest.mark.parametrize(
    ("error", "said"),
    [
        # The page of these tests has an address without https.
        ("", "The camera works only at an address that begins with https: "),
        (
            "NotAllowedError",
            "The browser may not use the camera: allow it for this address in its settings, ",
        ),
        ("NotFoundError", "No camera was found: "),
        (
            "NotReadableError",
            "Another program is using the camera: close it and try again, ",
        ),
        ("OverconstrainedError", "The camera could not be started: "),
    ],
)
def test_reason_is_said_and_the_field_stays(bare_page, error, said):
    bare_page.evaluate(SHOW, [FIELD, error])
    bare_page.get_by_role("button", name="Use the camera").click()
    hint = bare_page.locator("[data-scan-hint]")
    hint.filter(has_text=OTHERWISE).wait_for()
    assert hint.text_content() == said + OTHERWISE
    expect(bare_page.locator("video")).to_be_hidden()
    bare_page.keyboard.press("Escape")
    expect(bare_page.locator("#id_scan")).to_be_editable()


LOST = """(field) => {
    document.body.innerHTML = field;
    document.querySelector("[data-scan]").dataset.scanModule = "/static/zxing/none.wasm";
    window.stream = document.createElement("canvas").captureStream();
    Object.defineProperty(window, "isSecureContext", { value: true, configurable: true });
    Object.defineProperty(navigator, "mediaDevices", {
        value: { getUserMedia: () => Promise.resolve(window.stream) }, configurable: true,
    });
    return import("/static/js/scanning/field.js");
}"""


def test_reader_that_cannot_be_fetched_puts_the_camera_off_again(bare_page):
    bare_page.reload()  # the reader that was fetched before is forgotten
    bare_page.evaluate(LOST, FIELD)
    bare_page.get_by_role("button", name="Use the camera").click()
    bare_page.locator("[data-scan-hint]").filter(has_text="Codes cannot be read from").wait_for()
    assert bare_page.evaluate("stream.getTracks().map((track) => track.readyState)") == ["ended"]
