"""The day's list of the tablet: who comes when, told at one look."""

import uuid

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from records.patients.services import add_alert
from tests.browser.chart import PATIENCE_MS
from tests.browser.watch import TABLET, TABLET_UPRIGHT
from tests.factories import make_appointment, make_patient, make_session

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def open_day(new_page, sign_in, injector):
    def show(viewport):
        page = new_page(viewport=viewport, has_touch=True)
        sign_in(page, injector)
        page.goto("/charting/", timeout=PATIENCE_MS)
        expect(page.locator(".day__row").first).to_be_visible(timeout=PATIENCE_MS)
        return page

    return show


def test_a_name_keeps_its_width_beside_an_alert_on_an_upright_tablet(open_day, injector, desk):
    patient = make_patient(injector, "Ottoline Featheringay-Worthington")
    add_alert(
        patient=patient,
        kind="other",
        level="stop",
        text="Herpes simplex at the lip",
        actor=injector,
    )
    make_appointment(desk, patient, injector, f"{timezone.localdate()} 10:00")
    row = open_day(TABLET_UPRIGHT).locator(".day__row")
    # No consent and no medical history yet, and the alert: the loudest first.
    levels = ["Stop and ask", "Stop and ask", "Caution"]
    expect(row.locator(".strip__level")).to_have_text(levels)
    name = row.locator(".day__name")
    line = name.evaluate("(node) => parseFloat(getComputedStyle(node).lineHeight)")
    assert name.bounding_box()["height"] < 1.5 * line


def test_sessions_under_way_stand_in_the_order_of_their_visits(open_day, injector, desk):
    for number, hour in enumerate(("12", "09", "11", "10")):
        patient = make_patient(injector, f"Visit at {hour}")
        visit = make_appointment(desk, patient, injector, f"{timezone.localdate()} {hour}:00")
        make_session(injector, patient, appointment=visit, key=uuid.UUID(int=number + 1))
    names = open_day(TABLET).locator(".day__name")
    expect(names).to_have_text([f"Visit at {hour}" for hour in ("09", "10", "11", "12")])
