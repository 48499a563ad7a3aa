"""Booking in a real browser: what was chosen stays, and what it settles is seen in time."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from records.appointments.models import Appointment
from tests.factories import make_review, refreshed

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_chosen_time_stays_when_the_length_changes(page, sign_in, desk, injector, patient):
    review = make_review(injector, patient, timezone.localdate() + timedelta(days=3))
    sign_in(page, desk)
    page.goto(f"/appointments/new/?patient={patient.pk}")
    settles = page.get_by_role("checkbox", name="This visit settles the review due")
    expect(settles).to_be_hidden()
    with page.expect_response("**/appointments/times/**"):
        page.get_by_role("radio", name="Review", exact=True).check()
    expect(settles).to_be_checked()
    third = page.locator("#times-that-fit input[name=slot]").nth(2)
    chosen = third.get_attribute("value")
    third.check()
    with page.expect_response("**/appointments/times/**"):
        page.get_by_label("Length").select_option("45")
    expect(page.locator("#times-that-fit input[name=slot]:checked")).to_have_value(chosen)
    page.get_by_role("button", name="Book", exact=True).click()
    expect(page.get_by_text("is booked for")).to_be_visible()
    visit = Appointment.objects.get()
    assert timezone.localtime(visit.starts_at).strftime("%Y-%m-%dT%H:%M") == chosen.split("|")[0]
    assert (visit.minutes, refreshed(review).appointment) == (45, visit)


def test_the_keyboard_stays_among_the_times_when_they_come_late(
    page, sign_in, desk, injector, patient
):
    """Else the arrows do nothing, and the next Tab starts from the top of the page."""
    sign_in(page, desk)
    page.goto(f"/appointments/new/?patient={patient.pk}")
    waiting = []
    page.route("**/appointments/times/**", lambda route: waiting.append(route))
    with page.expect_request("**/appointments/times/**"):
        page.get_by_role("radio", name="Treatment", exact=True).check()
    page.locator("#times-that-fit input[name=slot]:checked").focus()
    with page.expect_response("**/appointments/times/**"):
        waiting[0].continue_()
    expect(page.locator("#times-that-fit input[name=slot]:checked")).to_be_focused()
    page.keyboard.press("ArrowUp")  # round to the last choice
    expect(page.get_by_label("Another time")).to_be_checked()


def test_another_time_stays_chosen_when_the_times_come_late(page, sign_in, desk, injector, patient):
    """Else the page takes back what was chosen while it was asking."""
    sign_in(page, desk)
    page.goto(f"/appointments/new/?patient={patient.pk}")
    waiting = []
    page.route("**/appointments/times/**", lambda route: waiting.append(route))
    with page.expect_request("**/appointments/times/**"):
        page.get_by_role("radio", name="Treatment", exact=True).check()
    page.get_by_label("Another time").check()
    with page.expect_response("**/appointments/times/**"):
        waiting[0].continue_()
    page.get_by_label("Day", exact=True).fill("2026-12-11")
    expect(page.get_by_label("Another time")).to_be_checked()
