"""Before the first point on a tablet: a stop is asked about, and the time-out is one act."""

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from records.gates import registry
from records.gates.models import GateDecision
from records.time_out.models import TimeOutCheck
from tests.browser.chart import PATIENCE_MS, STORED, Chart
from tests.browser.test_accessibility import violations
from tests.browser.watch import KEPT, TABLET
from tests.factories import make_appointment, make_emergency_item, make_patient
from tests.records.gates.fakes import for_everybody, stop

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_stop_and_the_time_out_go_without_network(new_page, sign_in, injector, desk, monkeypatch):
    monkeypatch.setattr(registry, "_keepers", [for_everybody(stop())])
    make_emergency_item()
    patient = make_patient(injector, "Ann Unsettled")
    make_appointment(desk, patient, injector, f"{timezone.localdate()} 10:00")
    page = new_page(viewport=TABLET, has_touch=True, **KEPT)
    sign_in(page, injector)
    page.goto("/charting/", timeout=PATIENCE_MS)
    expect(page.locator("[data-day]")).to_contain_text("Consent is missing.", timeout=PATIENCE_MS)
    page.wait_for_function("() => navigator.serviceWorker.controller !== null", timeout=PATIENCE_MS)
    page.context.set_offline(True)

    page.locator("[data-chart]").tap()
    sheet = page.locator("#sheet-gates")
    expect(sheet).to_contain_text("Consent is missing.")
    sheet.locator("[data-gate-go]").tap()
    expect(sheet.locator("[data-problem]")).to_have_text("Write down the reason first.")
    assert not violations(page)
    sheet.locator("[data-gate-reason]").fill("Signed on paper")
    sheet.locator("[data-gate-go]").tap()
    chart = Chart.at_hand(page, page.evaluate("() => location.hash.slice(1)"))

    chart.touch("[data-before-pause]")
    pause = page.locator("#sheet-time-out")
    expect(pause).to_contain_text("Ann Unsettled")
    expect(pause).to_contain_text("short of")
    pause.locator("[data-pause-done]").tap()
    expect(pause.locator("[data-problem]")).to_contain_text("Still open")
    pause.locator('[data-pause-no="photographs"]').tap()
    pause.locator('[data-pause-note="photographs"]').fill("None wanted")
    for item in ("identity", "allergies", "consent", "units", "kit"):
        pause.locator(f'[data-pause-yes="{item}"]').tap()
    assert not violations(page)
    pause.locator("[data-pause-done]").tap()
    expect(page.locator("[data-before]")).to_be_hidden()
    assert not TimeOutCheck.objects.exists()

    page.context.set_offline(False)
    expect(page.locator("[data-stored]")).to_contain_text(STORED, timeout=PATIENCE_MS)
    assert TimeOutCheck.objects.filter(is_confirmed=True).count() == 5
    assert TimeOutCheck.objects.get(is_confirmed=False).note == "None wanted"
    assert set(GateDecision.objects.values_list("how", "reason")) == {
        ("stood", ""), ("go_on", "Signed on paper"),
    }  # fmt: skip
