"""
Takes the pictures of the README: `make tour`. Not a part of the tests.

The demo clinic is written into a database of its own and the clock is set, so that the pictures
change only with the pages they show.
"""

import re
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import pypdfium2
import pytest
import time_machine
from PIL import Image
from playwright.sync_api import Page, expect

from clinic.staff.models import User
from clinic.stock.models import Lot
from records.demo.seed import seed
from records.sessions.models import TreatmentSession
from tests.browser.chart import Chart
from tests.browser.watch import DESK, TABLET

NOW = datetime(2026, 11, 25, 9, 40, tzinfo=UTC)
FOLDER = Path(__file__).parents[2] / "docs" / "tour"
MOST_BYTES = 250_000


def keep(picture: Image.Image, name: str) -> None:
    """Write docs/tour/<name>.png; a picture that is too large for the README in fewer colours."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    path = FOLDER / f"{name}.png"
    picture.convert("RGB").save(path, optimize=True)
    if path.stat().st_size > MOST_BYTES:
        picture.convert("RGB").quantize(256, dither=Image.Dither.NONE).save(path, optimize=True)
    assert path.stat().st_size <= MOST_BYTES, f"{path} is {path.stat().st_size} bytes"


def shoot(page: Page, name: str) -> None:
    page.wait_for_load_state("networkidle")
    expect(page.locator("[data-panel-state]")).to_have_count(0)
    page.evaluate("() => document.fonts.ready.then(() => null)")
    keep(Image.open(BytesIO(page.screenshot(animations="disabled"))), name)


@pytest.fixture
def clinic(db):
    with time_machine.travel(NOW, tick=True):
        seed(NOW.date())
        yield


@pytest.mark.django_db(transaction=True)
def test_take_the_pictures(clinic, new_page, sign_in):
    desk, owner = new_page(viewport=DESK), new_page(viewport=DESK)
    tablet = new_page(viewport=TABLET, has_touch=True)
    for page, name in ((desk, "desk"), (owner, "owner"), (tablet, "injector")):
        sign_in(page, User.objects.get(username=name))
    front_desk(desk)
    session = TreatmentSession.objects.unsigned().get()
    charting(tablet, session)
    signing(tablet, session)
    chart_note(tablet)
    stock(owner)


def front_desk(page: Page) -> None:
    page.goto("/")
    shoot(page, "today")
    treated = TreatmentSession.objects.signed().filter(patient__alerts__isnull=False).latest("pk")
    page.goto(f"/patients/{treated.patient_id}/")
    page.keyboard.press("/")
    page.keyboard.type("mar")
    expect(page.get_by_role("option").first).to_be_visible()
    page.keyboard.press("ArrowDown")
    shoot(page, "patient")
    page.goto("/reviews/")
    shoot(page, "reviews")


def charting(page: Page, session: TreatmentSession) -> None:
    """The unsigned session of the demo, with the cheeks added from a second syringe."""
    chart = Chart(page, session.key)
    page.click("[data-open-unit]")
    shelf = page.locator(".shelf").filter(has_text="HA filler medium")
    shelf.get_by_role("button", name=re.compile("^Open U")).first.click()
    expect(page.locator("[name=tray-unit]")).to_have_count(2)
    chart.settle("0.15")
    stored = chart.rows.count()
    for x_mm, y_mm in ((46, 32), (56, 40)):
        for side in (1, -1):
            chart.tap(side * x_mm, y_mm)
            stored += 1
            expect(chart.rows).to_have_count(stored)
    chart.is_stored()
    shoot(page, "charting")
    page.emulate_media(color_scheme="dark")
    page.click(".face__layers summary")
    page.click("[data-layer=vessels]")
    page.click("[data-layer=landmarks]")
    page.keyboard.press("Escape")
    shoot(page, "charting-dark")
    page.emulate_media(color_scheme="light")


def signing(page: Page, session: TreatmentSession) -> None:
    page.goto(f"/sessions/{session.pk}/sign/")
    for group in page.get_by_role("group").filter(has_text="left in unit").all():
        group.get_by_label("Kept for the same patient").check()
    shoot(page, "signing")


def chart_note(page: Page) -> None:
    """The first page of a signed note that has an addendum."""
    session = TreatmentSession.objects.filter(addenda__isnull=False).latest("pk")
    pdf = pypdfium2.PdfDocument(page.request.get(f"/notes/{session.pk}/").body())
    keep(pdf[0].render(scale=1.25).to_pil(), "chart-note")


def stock(page: Page) -> None:
    page.goto("/stock/")
    shoot(page, "stock")
    lot = Lot.objects.get(number="LS2502A")
    page.goto(f"/trace/{lot.pk}/")
    page.get_by_text("units received =").evaluate("(line) => line.scrollIntoView()")
    shoot(page, "lot-trace")
