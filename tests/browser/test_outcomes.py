"""A review on the tablet: the patient answers alone, the injector writes it up."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from records.outcomes.models import ReviewRecord
from records.sessions.services.signing import sign_session
from tests.browser.test_accessibility import violations
from tests.browser.test_layout import faults
from tests.browser.watch import TABLET
from tests.factories import (
    PASSWORD,
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_tablet_goes_to_the_patient_and_comes_back(new_page, sign_in, injector, desk, owner):
    [unit] = make_units(owner, make_product(), quantity=1)
    session = make_session_with_unit(injector, make_patient(desk), unit)
    make_point(session, unit, region="temple")
    sign_session(session=session, remainders={unit.pk: "wasted"}, actor=injector)
    page = new_page(viewport=TABLET)
    sign_in(page, injector)
    page.goto(reverse("outcome-create", args=[session.reviews.get().pk]))
    page.get_by_label("What was seen").fill("Even on both sides.")
    page.get_by_role("button", name="Hand over the tablet").click()

    expect(page.get_by_role("heading", name="How do you find the result?")).to_be_visible()
    assert not violations(page) + faults(page)
    page.get_by_role("group", name="Temple").get_by_label("Much improved", exact=True).check()
    page.get_by_role("group", name="How satisfied").get_by_label("9", exact=True).check()
    page.get_by_role("button", name="Send my answers").click()
    expect(page.get_by_role("heading", name="Thank you")).to_be_visible()
    page.goto(reverse("patient-list"))
    page.get_by_label(f"Password of {injector.full_name}").fill(PASSWORD)
    page.get_by_role("button", name="Take the tablet back").click()

    expect(page.get_by_text("Answered alone, on the tablet")).to_be_visible()
    expect(page.get_by_text("2 much improved", exact=True)).to_be_visible()
    expect(page.get_by_label("What was seen")).to_have_value("Even on both sides.")
    page.get_by_role("group", name="Temporal region").get_by_label("3 Improved", exact=True).check()
    page.get_by_role("group", name="adverse event").get_by_label(
        "No, asked and none", exact=True
    ).check()
    page.get_by_role("group", name="Top-up").get_by_label("Top up", exact=True).check()
    page.get_by_role("button", name="Save and close the review").click()
    expect(page.get_by_role("heading", name="Plan the top-up")).to_be_visible()
    page.get_by_role("button", name="Put into the plan").click()
    expect(page.get_by_text("The top-up is in the plan.")).to_be_visible()

    record = ReviewRecord.objects.get()
    assert (record.satisfaction, record.patient_answer) == (9, "tablet")
    assert record.carried_over.plan.patient_id == session.patient_id
