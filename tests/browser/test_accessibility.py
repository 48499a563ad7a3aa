"""
Every page for every role, scanned with axe-core against WCAG 2.2, levels A and AA.

Source of the rules: W3C, Web Content Accessibility Guidelines 2.2, by way of axe-core's tags.
Colours alone differ in the dark, so there the rules of contrast alone are asked again.
"""

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from django.contrib.auth.models import AnonymousUser
from playwright.sync_api import Page, expect

from clinic.access.enums import Role
from tests.browser.every_page import CHARTING_SHEETS, Seen, open_whole, pages
from tests.browser.watch import DESK, TABLET
from tests.samples import make_people, make_samples

WCAG = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]}
CONTRAST = {"type": "rule", "values": ["color-contrast"]}
VIOLATIONS = """async (runOnly) =>
  (await axe.run({ resultTypes: ["violations"], runOnly })).violations"""
# The tablet's pages first: they are the narrower ones.
SCREENS = {Role.INJECTOR: TABLET, Role.OWNER: DESK, Role.FRONT_DESK: DESK}

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def people(db):
    return make_people()


def violations(page: Page) -> list[str]:
    """What axe finds on the page as it is shown now, in light and in dark."""
    # Axe stays in a document; reading its half megabyte takes as long as a rule.
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    found = []
    for scheme, rules in (("light", WCAG), ("dark", CONTRAST)):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        found += [
            f"{page.url} ({scheme}) {violation['id']}: {node['html'][:200]}"
            for violation in page.evaluate(VIOLATIONS, rules)
            for node in violation["nodes"]
        ]
    return found


def scan(page: Page, urls: list[str], seen: Seen) -> list[str]:
    found = []
    for url in urls:
        open_whole(page, url)
        # The start page stands for the rail, which differs by role.
        if seen.is_new(page) or url == "/":
            found += violations(page)
    return found


@pytest.mark.parametrize("has_data", [True, False], ids=["with data", "of an empty clinic"])
def test_every_page(has_data, people, new_page, sign_in):
    samples = make_samples(people) if has_data else None
    seen, found = Seen(), []
    for role, screen in SCREENS.items():
        page = new_page(viewport=screen)
        sign_in(page, people[role])
        found += scan(page, pages(people[role], samples), seen)
    assert not found, "\n".join(found)


def test_every_page_before_signing_in(page):
    found = scan(page, pages(AnonymousUser(), None), Seen())
    assert not found, "\n".join(found)


def test_what_opens_on_the_charting_screen(people, new_page, sign_in):
    """Every tab, the chosen point, the layers, and each sheet."""
    samples = make_samples(people)
    page = new_page(viewport=TABLET)
    sign_in(page, people[Role.INJECTOR])
    open_whole(page, f"/charting/#{samples['session'].key}")
    found = []
    for tab in page.get_by_role("tab").all():
        tab.click()
        found += violations(page)
    page.click("#tab-points")
    page.click("[data-choose]")
    found += violations(page)
    page.click("[data-done]")
    page.click(".face__layers summary")
    found += violations(page)
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
