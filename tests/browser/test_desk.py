"""The front desk with the keyboard: search, keys and their help."""

import pytest
from playwright.sync_api import expect

from tests.factories import make_patient

pytestmark = pytest.mark.django_db(transaction=True)


def test_search_keys_and_their_help(page, sign_in, desk):
    """
    Source of the search's keys: WAI-ARIA Authoring Practices Guide, combobox with a listbox popup;
    of switching keys off: WCAG 2.2, success criterion 2.1.4.
    """
    for name in ("Mary Adams", "Mary Baker"):
        make_patient(desk, name)
    sign_in(page, desk)
    page.goto("/")
    page.keyboard.press("/")
    box = page.get_by_role("combobox", name="Search")
    expect(box).to_be_focused()
    page.keyboard.type("mraynobody")
    expect(page.get_by_text("Nothing found", exact=True)).to_be_visible()
    box.fill("mary")
    expect(page.get_by_role("option")).to_have_count(2)
    expect(box).to_have_attribute("aria-expanded", "true")
    page.keyboard.press("ArrowUp")
    chosen = page.get_by_role("option", selected=True)
    expect(chosen).to_contain_text("Mary Baker")
    assert box.get_attribute("aria-activedescendant") == chosen.get_attribute("id")
    page.keyboard.press("Escape")
    expect(box).to_have_attribute("aria-expanded", "false")
    expect(box).to_have_value("mary")
    page.keyboard.press("Enter")
    page.wait_for_url("**/search/?found=")
    expect(page.get_by_role("option")).to_have_count(2)

    page.locator("#content").focus()
    page.keyboard.press("d")
    page.wait_for_url("**/diary/")
    page.keyboard.press(",")
    page.wait_for_url("**/diary/?day=*")
    opener = page.get_by_role("link", name="Before", exact=True)
    opener.focus()
    page.keyboard.press("?")
    keys = page.get_by_role("dialog", name="Keys on this page")
    expect(keys).to_contain_text("Day or week before")
    expect(keys).to_contain_text("New booking")
    keys.get_by_role("checkbox").uncheck()
    page.keyboard.press("Escape")
    expect(keys).to_be_hidden()
    expect(opener).to_be_focused()
    page.reload()
    page.keyboard.press("b")
    page.keyboard.press("?")
    page.locator(".menu__button").click()
    page.get_by_role("button", name="Keys on this page").click()
    expect(keys.get_by_role("checkbox")).not_to_be_checked()
    assert "/diary/?day=" in page.url, "no key alone has done anything"
