"""Assessing on the tablet: the drawing and the list are one."""

import pytest
from playwright.sync_api import Page, expect

from records.assessments.models import Assessment
from tests.browser.watch import TABLET
from tests.factories import make_patient

pytestmark = pytest.mark.django_db(transaction=True)


def area(page: Page, view: str, region: str):
    return page.locator(f".drawn--{view} [data-region={region}]")


def test_a_touch_opens_a_region_and_its_grade_shows_on_every_drawing(
    new_page, sign_in, injector, desk
):
    patient = make_patient(desk)
    page = new_page(viewport=TABLET)
    sign_in(page, injector)
    page.goto(f"/assessments/new/{patient.pk}/")
    area(page, "front", "zygomatic").locator("path").first.click()
    row = page.locator("[data-region-row=zygomatic]")
    row.locator("[data-side=left] label").nth(4).click()
    expect(area(page, "front", "zygomatic").locator("path.area--3")).to_have_attribute(
        "data-side", "left"
    )
    expect(area(page, "left", "zygomatic").locator("text")).to_have_text("3")
    expect(row.locator("[data-now]")).to_have_text("left 3")

    # By keyboard alone: the region on the drawing, then the grade of the whole.
    area(page, "front", "glabella").focus()
    page.keyboard.press("Enter")
    expect(row).not_to_have_attribute("open", "")
    brows = page.locator("[data-region-row=glabella]")
    brows.locator("[data-scale=movement] [data-side=midline] input").first.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    expect(area(page, "front", "glabella")).to_contain_text("M1")

    page.get_by_role("button", name="Save the assessment").click()
    expect(page.get_by_role("heading", name="Assessment of")).to_be_visible()
    saved = Assessment.objects.get()
    assert [(row.region, row.left, row.midline) for row in saved.grades] == [
        ("glabella", None, 1),
        ("zygomatic", 3, None),
    ]
