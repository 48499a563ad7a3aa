"""What is booked already stands beside the booking form, in a real browser."""

import pytest
from playwright.sync_api import expect

from tests.factories import make_appointment, make_patient

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_day_beside_the_form_follows_the_choice(page, sign_in, desk, injector, patient):
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2030-12-03 10:15")
    sign_in(page, desk)
    page.goto(f"/appointments/new/?patient={patient.pk}&day=2030-12-02")
    expect(page.get_by_text("to see what is booked")).to_be_visible()
    page.get_by_label("Practitioner").select_option(label="Ida Injector")
    expect(page.get_by_text("Nothing booked yet.")).to_be_visible()
    page.get_by_label("Day", exact=True).fill("2030-12-03")
    page.get_by_label("Day", exact=True).blur()
    expect(page.get_by_role("listitem").filter(has_text="10:15–10:45")).to_contain_text(
        "Ben Example"
    )
