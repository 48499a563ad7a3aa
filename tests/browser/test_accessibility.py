"""
The scan with axe-core against WCAG 2.2, levels A and AA, and what it finds where something opens.

Source of the rules: W3C, Web Content Accessibility Guidelines 2.2, by way of axe-core's tags.
Colours alone differ in the dark, so there the rules of contrast alone are asked again. Each page
of each role is scanned by `test_every_page.py`.
"""

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page, expect

from clinic.access.enums import Role
from tests.browser.every_page import CHARTING_SHEETS, open_whole
from tests.browser.watch import TABLET
from tests.samples import make_people, make_samples

WCAG = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]}
CONTRAST = {"type": "rule", "values": ["color-contrast"]}
# What lies behind an open dialog cannot be reached.
VIOLATIONS = """async ([within, without, runOnly]) => {
  const include = document.querySelector("dialog[open]") ? "dialog[open]" : within;
  const part = { include: [include], exclude: without ? [without] : [] };
  // The one rule that asks for anything beforehand asks for sound and film (no-autoplay-audio);
  // axe would read every style sheet anew as well.
  const preload = { assets: ["media"] };
  const kept = { resultTypes: ["violations"], selectors: false, preload };
  return (await axe.run(part, { ...kept, runOnly })).violations;
}"""

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def people(db):
    return make_people()


def violations(page: Page, within: str = "html", without: str = "") -> list[str]:
    """
    What axe finds on the page as it is shown now, in light and in dark.

    Args:
        within: the part that is looked at, where the rest was before.
        without: a part that is not looked at.
    """
    # Sending half a megabyte to each document takes as long as a rule: the next ones come with it.
    if not page.evaluate("'axe' in window"):
        page.add_init_script(AXE_SCRIPT)
        page.evaluate(AXE_SCRIPT)
    found = []
    for scheme, rules in (("light", WCAG), ("dark", CONTRAST)):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        found += [
            f"{page.url} ({scheme}) {violation['id']}: {node['html'][:200]}"
            for violation in page.evaluate(VIOLATIONS, [within, without, rules])
            for node in violation["nodes"]
        ]
    return found


def test_what_opens_on_the_charting_screen(people, new_page, sign_in):
    """Every tab, the chosen point, the layers, and each sheet."""
    samples = make_samples(people)
    page = new_page(viewport=TABLET)
    sign_in(page, people[Role.INJECTOR])
    open_whole(page, f"/charting/#{samples['session'].key}")
    found = []
    for tab in page.get_by_role("tab").all():
        tab.click()
        found += violations(page, within=".more")
    page.click("#tab-points")
    page.click("[data-choose]")
    found += violations(page)
    page.click("[data-done]")
    page.click(".face__layers summary")
    found += violations(page, within=".face__layers")
    page.keyboard.press("Escape")
    for opener in CHARTING_SHEETS:
        page.click(opener)
        expect(page.locator("dialog[open]")).to_be_visible()
        found += violations(page)
        page.keyboard.press("Escape")
    assert not found, "\n".join(found)


def test_what_opens_on_a_page(people, new_page, sign_in):
    """Dialogs, menus, search results, the panels of tabs, and a form that came back with errors."""
    make_samples(people)
    page = new_page(viewport=TABLET)
    sign_in(page, people[Role.INJECTOR])
    found = []
    page.goto("/diary/")
    page.keyboard.press("/")
    page.keyboard.type("exam")
    expect(page.get_by_role("option").first).to_be_visible()
    page.keyboard.press("ArrowDown")
    found += violations(page)
    page.goto("/patients/new/")
    page.locator("form[data-once]").evaluate("(form) => { form.noValidate = true; }")
    page.get_by_role("button", name="Register", exact=True).click()
    expect(page.locator(".field--wrong").first).to_be_visible()
    found += violations(page)
    assert not found, "\n".join(found)
