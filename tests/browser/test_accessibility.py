"""
Every page for every role, scanned with axe-core against WCAG 2.2, levels A and AA.

Source of the rules: W3C, Web Content Accessibility Guidelines 2.2, by way of axe-core's tags.
Colours alone differ in the dark, so there the rules of contrast alone are asked again.
"""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.contrib.auth.models import AnonymousUser
from playwright.sync_api import Page

from clinic.access.enums import Role
from tests.browser.every_page import open_whole, pages
from tests.browser.watch import DESK, TABLET
from tests.samples import make_people, make_samples

WCAG = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]}
CONTRAST = {"type": "rule", "values": ["color-contrast"]}
SCREENS = {Role.FRONT_DESK: DESK, Role.INJECTOR: TABLET, Role.OWNER: DESK}

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def people(db):
    return make_people()


def violations(page: Page) -> list[str]:
    """What axe finds on the page as it is shown now, in light and in dark."""
    found = []
    for scheme, rules in (("light", WCAG), ("dark", CONTRAST)):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        answer = Axe().run(page, options={"resultTypes": ["violations"], "runOnly": rules}).response
        found += [
            f"{page.url} ({scheme}) {violation['id']}: {node['html'][:200]}"
            for violation in answer["violations"]
            for node in violation["nodes"]
        ]
    return found


def scan(page: Page, urls: list[str]) -> None:
    found = []
    for url in urls:
        open_whole(page, url)
        found += violations(page)
    assert not found, "\n".join(found)


@pytest.mark.parametrize("role", list(Role))
def test_every_page_with_data(role, people, new_page, sign_in):
    page = new_page(viewport=SCREENS[role])
    sign_in(page, people[role])
    scan(page, pages(people[role], make_samples(people)))


def test_every_page_of_an_empty_clinic(people, new_page, sign_in):
    seen: set[str] = set()
    for role, person in people.items():
        page = new_page(viewport=SCREENS[role])
        sign_in(page, person)
        # What is the same for all is scanned once; the start page differs by role.
        fresh = [url for url in pages(person, None) if url == "/" or url not in seen]
        scan(page, fresh)
        seen.update(fresh)


def test_every_page_before_signing_in(page):
    scan(page, pages(AnonymousUser(), None))
