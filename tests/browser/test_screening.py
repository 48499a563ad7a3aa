"""A patient answers on the tablet, and a stop stands before the injector, in a real browser."""

import re

import pytest
from playwright.sync_api import expect

from records.gates.models import GateDecision
from records.patients.models import Alert
from records.sessions.models import TreatmentSession
from tests.browser.chart import PATIENCE_MS
from tests.browser.test_accessibility import violations
from tests.browser.test_layout import faults
from tests.factories import PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.usefixtures("patient_agrees")
def test_a_stop_answered_on_the_tablet_reaches_the_injector(page, sign_in, injector, patient):
    page.set_viewport_size({"width": 820, "height": 1180})
    sign_in(page, injector)
    page.goto(f"/patients/{patient.pk}/")
    page.get_by_role("button", name="Hand over tablet").click()
    expect(page.get_by_role("heading", name="Your medical history")).to_be_visible()
    page.goto("/patients/")
    expect(page.get_by_role("heading", name="Your medical history")).to_be_visible()
    assert violations(page) + faults(page) == []

    for no in page.get_by_role("radio", name="No", exact=True).all():
        no.check()
    muscles = page.get_by_role("group", name=re.compile("illness of nerves"))
    muscles.get_by_role("radio", name="Yes").check()
    page.get_by_role("textbox", name="Tell us more").fill("Myasthenia gravis")
    page.get_by_role("group", name=re.compile("thick or large")).get_by_role(
        "radio", name="Not sure"
    ).check()
    page.get_by_role("button", name="Send my answers").click()
    expect(page.get_by_role("heading", name="Thank you")).to_be_visible()
    assert violations(page) + faults(page) == []

    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Take the tablet back").click()
    expect(page.get_by_role("heading", name="Patient record")).to_be_visible()
    expect(page.get_by_text("toxin may weaken: Myasthenia gravis").first).to_be_visible()
    page.get_by_role("link", name="Check").click()
    page.get_by_role("button", name="I have read it").click()
    expect(page.get_by_text("Read and checked.")).to_be_visible()
    assert Alert.objects.get(level="stop").text.endswith("Myasthenia gravis")

    page.goto(f"/sessions/start/{patient.pk}/")
    expect(page.locator(".flag--stop")).to_contain_text("toxin may weaken: Myasthenia gravis")
    assert violations(page) + faults(page) == []
    page.get_by_role("button", name="Start the session").click()
    expect(page.get_by_text("or write down why you go on")).to_be_visible()
    assert not TreatmentSession.objects.exists()
    page.get_by_label("Why you go on").fill("Filler alone today, no toxin")
    page.get_by_role("button", name="Start the session").click(timeout=PATIENCE_MS)
    page.wait_for_url(re.compile("/charting/#"))
    decision = GateDecision.objects.get()
    assert (decision.gate, decision.how) == ("screening-nerve-muscle", "go_on")
    assert decision.reason == "Filler alone today, no toxin"
