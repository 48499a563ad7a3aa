"""Planning on the drawn face: a touch leads to the line it is about."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.watch import TABLET
from tests.factories import make_line, make_patient, make_plan, make_product

pytestmark = pytest.mark.django_db(transaction=True)
# Where a place of the front drawing, in millimetres, is on the screen.
ON_SCREEN = """([x, y]) => {
    const svg = document.querySelector(".is-shown .face__paper svg");
    const at = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM());
    return [at.x, at.y];
}"""


def test_a_touch_on_the_face_plans_there_and_one_on_a_label_changes_its_line(
    new_page, sign_in, injector
):
    line = make_line(make_product(), region="mental", side="midline", amount=200)
    plan = make_plan(injector, make_patient(injector), None, line)
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    page.goto(f"/plans/{plan.pk}/")
    label = page.locator(".is-shown .plan-mark")
    expect(label).to_have_count(1)
    label.tap()
    expect(page).to_have_url(re.compile(f"/plans/lines/{line.pk}/$"))
    page.go_back()
    expect(label).to_have_count(1)
    # The patient's left cheekbone lies on the right of the front view.
    page.touchscreen.tap(*page.evaluate(ON_SCREEN, [48, 33]))
    expect(page).to_have_url(re.compile(r"/lines/\?region=zygomatic&side=left$"))
    expect(page.get_by_label("Left", exact=True)).to_be_checked()
