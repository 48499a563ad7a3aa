"""The occlusion log on the tablet: one touch, no network, a reload, an emergency, the handover."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from planning.occlusion import EMERGENCY_WORDS, refill_is_slow, tells_of_emergency
from records.adverse_events.models import AdverseEvent
from records.occlusions.models import Occlusion, OcclusionEntry
from tests.factories import make_alert, make_protocol
from tests.pdf import pdf_text

TEXTS = [
    "Vision going", "Supervision", "double-vision", "Pale, 4 seconds", "can't see", "SLURRED", "",
    "eye  pain", "Provision; blurred",
]  # fmt: skip


@pytest.fixture
def alert(injector, session):
    """Asked for before `chart`: the tablet has it with its first day."""
    return make_alert(injector, session.patient, "Hyaluronidase: weals")


@pytest.mark.main_path
@pytest.mark.django_db(transaction=True)
def test_a_log_under_network_loss_and_reload_ends_in_a_handover(alert, chart, session, owner):
    make_protocol(owner, emergency_number="112", eye_contact="Lark eye unit 01 234 567")
    page = chart.page
    chart.open()
    page.route("**/charting/sync/", lambda route: route.abort())
    chart.touch("[data-occlusion]")  # one touch, and it runs
    sheet = page.locator("[data-sheet=occlusion]")
    expect(sheet.get_by_role("heading", name="Occlusion log")).to_be_visible()
    alerts = sheet.get_by_role("list", name="Allergies and alerts")
    expect(alerts).to_contain_text("Hyaluronidase: weals")
    expect(sheet.locator("[data-clock=first]")).to_have_text("0:01")
    chart.touch(sheet.get_by_role("button", name="Warm"))
    chart.touch(sheet.get_by_role("button", name="Refill"))
    chart.touch(sheet.get_by_role("group", name="This place").get_by_role("button", name="4 s"))
    chart.touch("[data-occlusion-done]")
    chart.touch(sheet.get_by_role("button", name="Hyaluronidase", exact=True))
    expect(alerts).to_contain_text("Hyaluronidase: weals")
    chart.touch("[data-occlusion-amount=dose_centiunits]")
    chart.press_amount("500")
    sheet.get_by_label("Lot").fill("HY1")
    chart.touch("[data-occlusion-done]")
    expect(sheet.locator("[data-line=dose]")).to_contain_text("500 units, lot HY1")
    page.evaluate("() => charting.queue.write()")
    chart.open()  # it comes up again by itself, with all that was written
    expect(sheet.locator("[data-line]")).to_have_count(3)
    expect(sheet.locator("[data-line=refill]")).to_contain_text("4 seconds: slow")
    assert not OcclusionEntry.objects.exists()
    chart.touch("[data-occlusion-emergency]")
    emergency = sheet.locator("[data-emergency]")
    expect(emergency).to_contain_text("call emergency services now")
    expect(alerts).to_contain_text("Hyaluronidase: weals")
    expect(emergency).to_contain_text(re.compile(r"Hyaluronidase given.*500 units, lot HY1"))
    expect(emergency.get_by_role("link", name="112")).to_have_attribute("href", "tel:112")
    chart.touch(emergency.locator('[data-occlusion-called="Emergency services"]'))
    expect(emergency).to_contain_text("Called at")
    chart.touch(emergency.get_by_role("button", name="Back to the occlusion log"))
    chart.touch(sheet.get_by_role("button", name="To the chart"))
    chart.touch(page.get_by_role("link", name="The day"))
    row = page.locator(".day__row", has_text=session.patient.full_name)
    expect(row).to_contain_text("Occlusion log runs")
    chart.open()
    page.unroute("**/charting/sync/")
    chart.touch(sheet.get_by_role("button", name="End the log"))
    chart.touch(sheet.get_by_role("button", name="Grade 2, moderate"))
    chart.touch("[data-occlusion-done]")
    expect(sheet).to_be_hidden()
    chart.is_stored()
    told = OcclusionEntry.objects.order_by("at", "id").values_list("what", flat=True)
    assert list(told) == ["warmth", "refill", "dose", "emergency", "call", "ended"]
    assert AdverseEvent.objects.get().grade == "2"
    log = Occlusion.objects.get()
    answer = page.request.get(reverse("occlusion-handover", args=[log.pk]))
    assert "500 units, lot HY1" in pdf_text(answer.body())


def test_the_tablet_hears_and_measures_as_the_planning_service_does(bare_page):
    pairs = [[tenths, other] for tenths in (10, 29, 30, 45) for other in (None, 10, 30)]
    found = bare_page.evaluate(
        """async ([texts, words, pairs]) => {
            const { isSlow, tellsOfEmergency } =
                await import("/static/js/charting/occlusion_log.js");
            return [texts.map((text) => tellsOfEmergency(text, words)),
                pairs.map(([refill, other]) => isSlow(refill, other, 30))];
        }""",
        [TEXTS, list(EMERGENCY_WORDS), pairs],
    )
    assert found == [
        [tells_of_emergency(text) for text in TEXTS],
        [refill_is_slow(*pair) for pair in pairs],
    ]
