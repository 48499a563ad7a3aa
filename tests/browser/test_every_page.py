"""
Every page of every role, opened once: nothing hard to read or reach, nothing cut, nothing too wide.

Names are as long as names are, and one is read from right to left.
"""

import pytest
from django.contrib.auth.models import AnonymousUser
from playwright.sync_api import Page

from clinic.access.enums import Role
from tests.browser.every_page import Seen, documents, open_whole
from tests.browser.test_accessibility import violations
from tests.browser.test_layout import faults
from tests.browser.watch import DESK, TABLET, TABLET_UPRIGHT
from tests.samples import make_people, make_samples

LONG = "Wolfeschlegelsteinhausenbergerdorff-Featherstonehaugh Maria Magdalena"
ARABIC = "عبد الرحمن بن عبد العزيز آل الشيخ المستشار"
PRODUCT = "Hyaluronic acid filler, firm, cross-linked, with lidocaine, 25 mg/mL, 1 mL"
PLACE = "Behandlungsraumkühlschrankunterfach, zweites von oben, hinter der Verbandstoffschublade"
# The tablet's pages first: they are the narrower ones.
SCREENS = {Role.INJECTOR: TABLET, Role.OWNER: DESK, Role.FRONT_DESK: DESK}
SIZES = [DESK, TABLET, TABLET_UPRIGHT]

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(scope="module")
def seen():
    """Many pages of an empty clinic are those of a full one, word for word."""
    return Seen()


@pytest.fixture
def people(db):
    people = make_people()
    for person in people.values():
        person.full_name = ARABIC
        person.save(update_fields=["full_name"])
    return people


@pytest.fixture
def samples(people):
    return make_samples(people, patient_name=LONG, product_name=PRODUCT, place_name=PLACE)


def misfits(page: Page, url: str) -> list[str]:
    """What does not fit, on each size of screen."""
    found = []
    for size in SIZES:
        page.set_viewport_size(size)
        shown = f"{url} at {size['width']}x{size['height']}"
        found += [f"{shown} {fault}" for fault in faults(page)]
    return found


def look_at_all(new_page, sign_in, people, samples, seen) -> list[str]:
    found, files = [], set()
    for role, screen in SCREENS.items():
        page = new_page(viewport=screen)
        sign_in(page, people[role])
        for url, answer in documents(people[role], samples, files):
            if not seen.is_new(url, answer):
                continue
            page.set_viewport_size(screen)
            open_whole(page, url)
            # The rail is the same on each page, and is looked at on the first one.
            faulty = violations(page, without="" if url == "/" else ".rail") + misfits(page, url)
            found += [f"{role.label}: {fault}" for fault in faulty]
    return found


def test_every_page(new_page, sign_in, people, samples, seen):
    found = look_at_all(new_page, sign_in, people, samples, seen)
    assert not found, "\n".join(found)


def test_every_page_of_an_empty_clinic(new_page, sign_in, people, seen):
    found = look_at_all(new_page, sign_in, people, None, seen)
    assert not found, "\n".join(found)


def test_every_page_before_signing_in(page):
    found = []
    for url, _ in documents(AnonymousUser(), None):
        open_whole(page, url)
        found += violations(page) + misfits(page, url)
    assert not found, "\n".join(found)
