"""A visit is cancelled, and the front desk gives its time to who waits, in a real browser."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from records.appointments.models import Appointment
from tests.factories import make_appointment, make_patient, make_waiting_entry

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_cancelled_time_goes_to_who_waits(page, sign_in, desk, injector, patient):
    monday = timezone.localdate() + timedelta(days=7 - timezone.localdate().weekday())
    start = f"{monday + timedelta(days=2)} 10:00"
    cancelled = make_appointment(desk, patient, injector, start, kind="treatment", minutes=45)
    waits = make_patient(desk, "Ben Example")
    make_waiting_entry(desk, waits, notice_hours=0)
    sign_in(page, desk)
    page.goto(f"/appointments/{cancelled.pk}/cancel/")
    page.get_by_label("Why it is cancelled").fill("Has a cold")
    page.get_by_role("button", name="Cancel the appointment").click()
    page.get_by_role("link", name="See who").click()
    page.get_by_role("button", name="Offer", exact=True).click()
    expect(page.get_by_text("Held for Ben Example until")).to_be_visible()
    page.get_by_role("button", name="Takes it").click()
    expect(page.get_by_text("Booked for Ben Example:")).to_be_visible()
    assert Appointment.objects.get(patient=waits).state == "booked"

    make_waiting_entry(desk, waits, kind="review", notice_hours=0)
    page.goto("/waiting-list/")
    page.get_by_role("button", name="Find the next time that fits Ben Example").click()
    page.get_by_role("table", name="Who waits").get_by_role("link", name=":").click()
    expect(page.get_by_role("heading", name="Book an appointment")).to_be_visible()
