"""The camera of a tablet, on the page that scans. Chromium is given a film in place of a camera."""

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.browser.scanning.pictures import code, noisy, turned

pytestmark = pytest.mark.django_db(transaction=True)


def test_code_in_front_of_the_camera_is_read_and_shown(page_with_camera, sign_in, owner):
    page = page_with_camera(noisy(turned(code("GS1-128", 1), 45), 6))
    sign_in(page, owner)
    page.goto("/scanning/")
    page.get_by_role("button", name="Use the camera").click()
    expect(page.locator(".pack__lot")).to_have_text("LOT42")
    expect(page.locator(".pack")).to_contain_text("30 November 2027")


def test_camera_is_put_off_when_its_dialog_is_closed(page_with_camera, sign_in, injector):
    page = page_with_camera(Image.new("L", (10, 10)))
    sign_in(page, injector)
    page.goto("/scanning/")
    page.get_by_role("button", name="Use the camera").click()
    expect(page.locator("[data-scan-hint]")).to_contain_text("Looking for a code")
    tracks = page.evaluate_handle("() => document.querySelector('video').srcObject.getTracks()")
    assert tracks.evaluate("tracks => tracks.map(track => track.readyState)") == ["live"]
    page.keyboard.press("Escape")
    # The browser says that a dialog was closed a moment after the key: what follows is waited for.
    page.wait_for_function(
        "tracks => tracks.every(track => track.readyState === 'ended')", arg=tracks
    )
    assert page.evaluate("() => document.querySelector('video').srcObject") is None


def test_without_a_camera_the_page_says_what_to_do(page, sign_in, owner):
    sign_in(page, owner)
    page.goto("/scanning/")
    page.get_by_role("button", name="Use the camera").click()
    hint = page.locator("[data-scan-hint]")
    expect(hint).to_have_text(
        "No camera was found: use a scanner, or type what is printed under the code."
    )
    page.get_by_role("dialog").get_by_role("button", name="Close").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
