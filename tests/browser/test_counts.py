"""
A stock count on two tablets at once: by a scanner that types, by label, by hand.

The code is an element string of the GS1 General Specifications, section 3, with the prefix 952 that
GS1 keeps for examples.
"""

import pytest
from playwright.sync_api import Page, expect

from clinic.counts.enums import CountScope
from clinic.counts.services.counting import start_count
from tests.browser.watch import TABLET
from tests.factories import make_place, make_product, make_units, make_user

pytestmark = pytest.mark.django_db(transaction=True)
CODE = "010952123454321310LOT42"
LATER_MS = 12_000  # the other tablet asks every 5 seconds


@pytest.fixture
def units(injector):
    return make_units(injector, make_product(gtin="09521234543213"), place=make_place())


@pytest.fixture
def tablet(new_page, sign_in, units, injector):
    """`tablet(person)`: the page of the count on a tablet of that person."""
    count = start_count(scope=CountScope.PLACE, place=units[0].place, actor=injector)

    def open_count(person) -> Page:
        page = new_page(viewport=TABLET, has_touch=True)
        sign_in(page, person)
        page.goto(f"/counts/{count.pk}/")
        return page

    return open_count


def scan(page: Page, text: str) -> None:
    """As a scanner types it: the code, then Enter."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def said(page: Page):
    return page.locator("#count-scan .said")


def test_two_people_count_one_place(tablet, units, injector):
    mine, hers = tablet(injector), tablet(make_user("hanna", is_injector=True))
    scan(mine, CODE)
    expect(said(mine)).to_contain_text(f"Unit {units[0].label}, lot LOT42: 1 of 2 here.")
    expect(hers.locator(".far__figure")).to_have_text("1 of 2 seen", timeout=LATER_MS)
    hers.get_by_role("button", name=units[1].label, exact=True).click()
    expect(hers.locator(".far__figure")).to_have_text("2 of 2 seen")
    # The scanner goes on typing into the same, empty field.
    scan(mine, CODE)
    expect(said(mine)).to_contain_text("2 known here, and 2 seen")
    scan(mine, units[0].label.lower())
    expect(said(mine)).to_contain_text("is noted already")
    hers.get_by_role("button", name=units[0].label, exact=True).click()
    expect(hers.locator(".far__figure")).to_have_text("1 of 2 seen")


def test_a_code_that_was_refused_gives_its_place_to_the_next(tablet, units, injector):
    page = tablet(injector)
    scan(page, "u99")
    expect(page.locator("#count-scan .field__error")).to_contain_text("No unit has the label")
    page.wait_for_function("() => getSelection().toString() === 'u99'")
    scan(page, CODE)
    expect(said(page)).to_contain_text(f"Unit {units[0].label}, lot LOT42: 1 of 2 here.")
