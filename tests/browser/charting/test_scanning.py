"""Opening a unit by its code: a scanner that types, the camera, with and without contact."""

import re
from datetime import date

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from tests.browser.chart import PATIENCE_MS, Chart
from tests.browser.scanning.pictures import code
from tests.factories import make_product, make_units, refreshed
from tests.scan_cases import GTIN, P

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def filler(injector):
    return make_product("Filler with a code", gtin=GTIN)


@pytest.fixture
def later(filler, injector):
    return make_units(injector, filler, number="LATER", expires_on=date(2031, 1, 31))


@pytest.fixture
def sooner(filler, injector):
    return make_units(injector, filler, number="SOONER", expires_on=date(2030, 1, 31))


def scan(page: Page, text: str) -> None:
    """A scanner that types: many signs in no time, then Enter."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def card_of(page: Page):
    return page.locator("[data-sheet=opening] [data-found]")


def test_box_is_scanned_from_anywhere_and_the_earlier_lot_offered_first(chart, later, sooner):
    chart.open()
    chart.page.locator("[data-figure=front] [data-overlay]").focus()
    chart.page.keyboard.press("2")  # a key alone is the screen's
    chart.says("Right side.")
    scan(chart.page, f"]d2{P}1731013110LATER")
    card = card_of(chart.page)
    expect(card.locator("[data-found-lot]")).to_have_text("LATER")
    expect(card).to_contain_text("Compare it with the box, sign by sign.")
    expect(card).to_contain_text("Lot SOONER expires earlier: 31 Jan 2030")
    expect(card).to_contain_text("2 of it are in stock. Take that?")
    expect(card.locator("[data-open-now]")).to_have_text(
        f"Open {later[0].label} of lot LATER all the same"
    )
    for button in card.locator("button").all():
        assert button.bounding_box()["height"] >= 44
    chart.page.keyboard.press("Enter")  # a scanner that sends it twice presses no button
    chart.touch(card.locator("[data-found-other]"))
    expect(card.locator("[data-found-lot]")).to_have_text("SOONER")
    scan(chart.page, f"{P}10LATER")
    expect(card.locator("[data-found-lot]")).to_have_text("LATER")
    chart.touch(card.locator("[data-found-other]"))
    chart.touch(card.locator("[data-open-now]"))
    expect(chart.page.locator(f'[data-unit-card="{sooner[0].pk}"]')).to_be_visible()
    chart.is_stored()
    assert refreshed(sooner[0]).state == "opened"
    assert refreshed(later[0]).state == "in_stock"


def test_label_is_typed_without_contact_and_what_is_not_there_is_said(chart, later):
    chart.open()
    chart.page.context.set_offline(True)
    chart.touch("[data-open-unit]")
    field = chart.page.locator("[data-sheet=opening] [data-scan-input]")
    for typed, said in [
        ("U999999", "This tablet knows no unit of stock with the label “U999999”."),
        (f"{P}10NEVER", "No unopened unit of lot NEVER, Filler with a code, is on this tablet."),
        ("hello", "This is not a GS1 code"),
    ]:
        field.fill(typed)
        field.press("Enter")
        expect(card_of(chart.page)).to_contain_text(said)
    field.fill(later[1].label.lower())
    field.press("Enter")
    expect(card_of(chart.page).locator("[data-found-lot]")).to_have_text("LATER")
    chart.touch(card_of(chart.page).locator("[data-open-now]"))
    chart.page.context.set_offline(False)
    chart.page.evaluate("() => charting.flush()")
    chart.is_stored()
    assert refreshed(later[1]).state == "opened"


def test_camera_reads_a_box_without_contact(page_with_camera, sign_in, injector, session, filler):
    make_units(injector, filler, number="LOT42")
    page = page_with_camera(code("DataMatrix", 4))
    sign_in(page, injector)
    chart = Chart(page, session.key)
    page.wait_for_function("() => navigator.serviceWorker.controller !== null", timeout=PATIENCE_MS)
    page.context.set_offline(True)
    page.locator("[data-open-unit]").click()
    page.get_by_role("button", name="Use the camera").click()
    expect(card_of(page)).to_contain_text("Filler with a code")
    expect(card_of(page).locator("[data-found-lot]")).to_have_text("LOT42")
    expect(page.locator("[data-scan-dialog]")).to_be_hidden()
    card_of(page).locator("[data-open-now]").click()
    expect(chart.page.locator("[data-contact]")).to_have_text(re.compile("No contact"))
    expect(page.locator("[data-unit-card]")).to_have_count(2)


def test_lock_puts_the_camera_off(page_with_camera, sign_in, injector, session):
    page = page_with_camera(Image.new("L", (10, 10)))
    sign_in(page, injector)
    Chart(page, session.key)
    page.locator("[data-open-unit]").click()
    page.get_by_role("button", name="Use the camera").click()
    expect(page.locator("[data-scan-hint]")).to_contain_text("Looking for a code")
    tracks = page.evaluate_handle("() => document.querySelector('video').srcObject.getTracks()")
    assert tracks.evaluate("tracks => tracks.map(track => track.readyState)") == ["live"]
    page.evaluate("() => document.querySelector('[data-lock-now]').click()")
    expect(page.locator("[data-lock]")).to_be_visible()
    page.wait_for_function(
        "tracks => tracks.every(track => track.readyState === 'ended')", arg=tracks
    )
