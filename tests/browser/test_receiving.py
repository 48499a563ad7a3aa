"""
A delivery in the browser: a scanner that is faster than the server, and a line that fails.

Codes: GS1 General Specifications, section 7.8; product numbers with the example prefix 952.
"""

import pytest
from django.conf import settings
from playwright.sync_api import Page, expect

from clinic.stock.models import UnitOfStock
from tests.factories import make_product

pytestmark = pytest.mark.django_db(transaction=True)

GTIN = "09521234543213"


@pytest.fixture
def delivery(page, sign_in, owner) -> Page:
    """The page of a delivery, the field for codes in focus."""
    make_product("HA filler soft, 1 mL", gtin=GTIN)
    sign_in(page, owner)
    page.goto("/receiving/")
    expect(page.get_by_label("Scan a box")).to_be_focused()
    return page


def code(lot: str, serial: str = "") -> str:
    return f"01{GTIN}1730113010{lot}" + (f"|21{serial}" if serial else "")


def scan(page: Page, *codes: str) -> None:
    """As a scanner types: one code after the other, each ended by Enter, without waiting."""
    for text in codes:
        page.keyboard.type(text)
        page.keyboard.press("Enter")


def lots(page: Page) -> list[str]:
    return [one.input_value() for one in page.get_by_label("Lot number").all()]


def test_no_code_of_a_fast_scanner_is_lost_or_glued_to_the_next(delivery):
    scan(delivery, *(code(f"L{number % 4}", f"S{number}") for number in range(12)))
    expect(delivery.get_by_role("button", name="Receive all 12 units")).to_be_visible()
    assert lots(delivery) == ["L0", "L1", "L2", "L3"]
    expect(delivery.get_by_text("3 serial numbers")).to_have_count(4)
    expect(delivery.get_by_label("Scan a box")).to_be_focused()


def test_what_could_not_be_sent_is_sent_with_the_next_code(delivery):
    delivery.route("**/receiving/", lambda route: route.abort())
    scan(delivery, code("L1"))
    expect(delivery.get_by_text("1 code was not sent yet")).to_be_visible()
    delivery.unroute("**/receiving/")
    scan(delivery, code("L2"))
    expect(delivery.get_by_role("button", name="Receive all 2 units")).to_be_visible()
    assert lots(delivery) == ["L1", "L2"]


def test_whoever_was_signed_out_meanwhile_loses_nothing(delivery, sign_in, owner):
    scan(delivery, code("L1"))
    expect(delivery.get_by_role("button", name="Receive 1 unit")).to_be_visible()
    delivery.get_by_label("Quantity").fill("7")
    delivery.context.clear_cookies(name=settings.SESSION_COOKIE_NAME)
    delivery.get_by_label("Scan a box").focus()
    scan(delivery, code("L2"))
    expect(delivery.get_by_role("heading", name="You were signed out")).to_be_visible()
    sign_in(delivery, owner)
    delivery.get_by_role("button", name="Send it again").click()
    expect(delivery.get_by_role("button", name="Receive all 8 units")).to_be_visible()
    assert lots(delivery) == ["L1", "L2"]


def test_a_refused_code_is_put_back_to_be_corrected_and_the_delivery_received(delivery):
    scan(delivery, "0109521234543210" + "10L1")
    delivery.get_by_role("button", name="Correct it").click()
    expect(delivery.get_by_label("Scan a box")).to_have_value("0109521234543210" + "10L1")
    delivery.keyboard.press("Control+A")
    scan(delivery, code("L1"))
    delivery.get_by_role("button", name="Receive 1 unit").click()
    expect(delivery.get_by_text("compare it with the box.")).to_be_visible()
    expect(delivery.get_by_label("Compared with the box")).to_be_focused()
    delivery.keyboard.press("Space")
    delivery.get_by_role("button", name="Receive 1 unit").click()
    expect(delivery.get_by_role("heading", name="Labels given")).to_be_visible()
    assert UnitOfStock.objects.count() == 1
