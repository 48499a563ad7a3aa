"""A consent taken on the tablet, and the time to think that follows."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from clinic.policy.models import ClinicPolicy
from planning.consents import ConsentKind
from records.consents.models import Consent
from records.consents.supplied import SUPPLIED
from records.sessions.models import TreatmentSession
from tests.browser.watch import TABLET
from tests.factories import make_patient

pytestmark = pytest.mark.django_db(transaction=True)


def sign(page: Page) -> None:
    """Two strokes on the patient's pad."""
    pad = page.locator("[data-signature-pad]").first
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    for height in (0.3, 0.6):
        page.mouse.move(box["x"] + 40, box["y"] + box["height"] * height)
        page.mouse.down()
        page.mouse.move(box["x"] + 240, box["y"] + box["height"] * 0.5, steps=8)
        page.mouse.up()


def test_a_consent_is_read_ticked_and_signed_and_its_cooling_off_time_is_shown(
    new_page, sign_in, injector, desk
):
    ClinicPolicy.objects.create(cooling_off_days=7)
    patient = make_patient(desk)
    page = new_page(viewport=TABLET)
    sign_in(page, injector)
    page.goto(f"/patients/{patient.pk}/")
    page.get_by_role("link", name="Take the consent: Filler").click()
    sign(page)
    page.get_by_role("button", name="Clear").first.click()
    sign(page)
    page.get_by_label("How that was assessed").fill("Said the risks back")
    page.get_by_role("button", name="Keep the consent").click()
    expect(page.get_by_role("alert").first).to_contain_text("Not kept yet")
    # What was drawn came back with the page.
    expect(page.locator("[data-signature-pad]").first.locator("path")).to_have_count(2)

    for risk in SUPPLIED[ConsentKind.FILLER].risks:
        page.get_by_label(risk.words).check()
    page.get_by_label("Alternatives were talked about").check()
    page.get_by_label("Costs were talked about").check()
    page.get_by_label("Yes", exact=True).check()
    page.get_by_role("button", name="Keep the consent").click()
    expect(page.get_by_text("In cooling-off")).to_be_visible()
    expect(page.get_by_role("img", name="Signature of the patient")).to_be_visible()
    consent = Consent.objects.get()
    assert consent.not_before - consent.discussed_at == timedelta(days=7)
    page.goto(f"/patients/{patient.pk}/")
    ends = timezone.localtime(consent.not_before)
    expect(page.locator("#patient-consents")).to_contain_text(f"not before {ends:%-d %b %Y}")

    page.goto(f"/sessions/start/{patient.pk}/")
    stop = page.locator(".flag--stop")
    expect(stop).to_contain_text(f"In cooling-off: Filler, not before {ends:%H:%M}")
    page.get_by_label("Why you go on").fill("She cannot come again")
    page.get_by_role("button", name="Start the session").click()
    expect(page.get_by_text("Nobody can decide to go on.")).to_be_visible()
    expect(page.get_by_label("Why you go on")).to_have_value("She cannot come again")
    assert not TreatmentSession.objects.exists()
