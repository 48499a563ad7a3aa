"""A tablet that comes and goes: what is done meanwhile is kept, said, and settled by a person."""

import re

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.services.tray import put_on_tray
from tests.browser.chart import PATIENCE_MS, Chart
from tests.browser.watch import KEPT, TABLET
from tests.factories import (
    PASSWORD,
    consented,
    make_appointment,
    make_patient,
    make_point,
    make_product,
    make_session,
    make_units,
    refreshed,
)

pytestmark = pytest.mark.django_db(transaction=True)

CODE = "739146"


def leave_contact(page: Page) -> None:
    page.context.set_offline(True)


def come_back(page: Page) -> None:
    page.context.set_offline(False)


def set_code(page: Page) -> None:
    page.locator("[data-user-menu] summary").tap()
    page.locator("[data-unlock-code]").tap()
    page.get_by_label("Code, 4 to 8 digits").fill(CODE)
    page.get_by_label("The code once more").fill(CODE)
    page.get_by_label("Your password").last.fill(PASSWORD)
    page.get_by_role("button", name="Set the code").tap()
    expect(page.locator("#unlock-code")).to_be_hidden(timeout=PATIENCE_MS)


def type_code(chart: Chart) -> None:
    for digit in CODE:
        chart.touch(f'[data-sheet=signing] [data-digit="{digit}"]')


def test_point_tapped_without_contact_is_kept_and_sent_later(chart, unit):
    chart.settle("0.2")
    leave_contact(chart.page)
    chart.tap(48, 33)
    expect(chart.page.locator("[data-contact]")).to_have_text(
        re.compile(r"No contact since \d\d:\d\d: everything is kept on this tablet")
    )
    expect(chart.page.locator("[data-stored]")).to_have_text("1 stored on this tablet")
    expect(chart.rows).to_have_attribute("data-where", "tablet")
    assert not InjectionEntry.objects.exists()
    come_back(chart.page)
    chart.is_stored()
    expect(chart.page.locator("[data-contact]")).to_have_text("In contact with the clinic")
    assert refreshed(unit).drawn == 200


def test_point_is_still_there_after_a_reload_without_an_answer(chart):
    chart.settle("0.2")
    chart.page.route("**/charting/sync/", lambda route: route.abort())
    chart.tap(48, 33)
    chart.page.evaluate("() => charting.queue.write()")  # the disk has it
    chart.open()
    expect(chart.rows).to_have_attribute("data-where", "tablet")
    chart.page.unroute("**/charting/sync/")
    chart.is_stored()
    assert InjectionEntry.objects.count() == 1


def test_session_is_started_charted_and_signed_without_contact(new_page, sign_in, injector, desk):
    patient = consented(injector, make_patient(injector, "Mary O’Neill"))
    make_appointment(desk, patient, injector, f"{timezone.localdate()} 10:00")
    unit = make_units(injector, make_product())[0]
    page = new_page(viewport=TABLET, has_touch=True, **KEPT)
    sign_in(page, injector)
    page.goto("/charting/", timeout=PATIENCE_MS)
    expect(page.locator("[data-day]")).to_contain_text("Mary O’Neill", timeout=PATIENCE_MS)
    # The worker keeps page, scripts and drawings; from then on no network is needed.
    page.wait_for_function("() => navigator.serviceWorker.controller !== null", timeout=PATIENCE_MS)
    set_code(page)
    leave_contact(page)
    page.locator("[data-chart]").tap()
    key = page.evaluate("() => location.hash.slice(1)")
    chart = Chart.at_hand(page, key)
    chart.touch("[data-open-unit]")
    chart.touch(f'[data-open-now="{unit.pk}"]')
    chart.settle("0.3")
    chart.tap(48, 33)
    expect(chart.rows).to_have_count(1)
    chart.touch("[data-sign]")
    chart.touch(chart.page.get_by_role("group", name=unit.label).get_by_label("Wasted"))
    type_code(chart)
    chart.touch("[data-sign-now]")
    expect(page.locator("[data-signed]")).to_contain_text(
        "Signed, stored on this tablet; it is sent when the clinic can be reached.",
        timeout=PATIENCE_MS,
    )
    assert not TreatmentSession.objects.exists()
    come_back(page)
    expect(page.locator("[data-signed]")).to_contain_text(
        "The signature is stored in the clinic.", timeout=PATIENCE_MS
    )
    session = TreatmentSession.objects.get()
    assert session.is_signed
    assert str(session.key) == key
    assert refreshed(unit).wasted == 700


def test_a_wrong_code_signs_nothing_and_says_so(chart, unit):
    set_code(chart.page)
    chart.touch("[data-sign]")
    chart.touch(chart.page.get_by_role("group", name=unit.label).get_by_label("Wasted"))
    for digit in "1470":
        chart.touch(f'[data-sheet=signing] [data-digit="{digit}"]')
    chart.touch("[data-sign-now]")
    problem = chart.page.locator("[data-sheet=signing] [data-problem]")
    expect(problem).to_have_text("That is not your code on this tablet. 4 tries are left.")
    assert not TreatmentSession.objects.get().is_signed


def test_a_remainder_has_to_be_said_before_signing(chart, unit):
    set_code(chart.page)
    chart.touch("[data-sign]")
    type_code(chart)
    chart.touch("[data-sign-now]")
    problem = chart.page.locator("[data-sheet=signing] [data-problem]")
    expect(problem).to_have_text(f"Say what became of the rest of unit {unit.label}.")


def test_signing_waits_for_what_is_not_decided(chart):
    chart.settle_odd("1.2")
    chart.tap(30, 60)
    expect(chart.waiting).to_have_count(1)
    chart.touch("[data-sign]")
    sheet = chart.page.locator("[data-sheet=signing]")
    expect(sheet.get_by_role("alert").first).to_contain_text("1 entry needs a decision first")
    expect(sheet.locator("[data-sign-now]")).to_have_count(0)


def test_point_moved_on_two_tablets_shows_both_and_waits_for_a_person(
    chart, session, unit, injector, new_page, sign_in
):
    make_point(session, unit, x_dmm=480, y_dmm=330)
    chart.open()
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    other = Chart(page, session.key)
    leave_contact(chart.page)
    for one, arrow in ((chart, "ArrowRight"), (other, "ArrowDown")):
        one.touch("[data-choose]")
        one.page.keyboard.press(arrow)
    other.is_stored()
    come_back(chart.page)
    expect(chart.waiting).to_contain_text("On this tablet")
    expect(chart.waiting).to_contain_text("In the clinic’s record")
    point = InjectionEntry.objects.get()
    assert (point.x_dmm, point.y_dmm) == (480, 335)
    chart.touch(chart.waiting.locator("[data-settle=again]"))
    chart.is_stored()
    assert refreshed(point).x_dmm == 485


def test_unit_opened_elsewhere_meanwhile_is_shown_and_another_chosen(
    chart, injector, unit, session
):
    first, second = make_units(injector, unit.lot.product, number="B1")
    chart.open()
    leave_contact(chart.page)
    chart.touch("[data-open-unit]")
    chart.touch(f'[data-open-now="{first.pk}"]')
    elsewhere = make_session(injector, make_patient(injector, "Someone Else"))
    put_on_tray(session=elsewhere, unit=first, actor=injector)
    come_back(chart.page)
    expect(chart.waiting).to_contain_text(first.label)
    chart.touch(chart.waiting.locator("[data-settle=drop]"))
    chart.is_stored()
    assert not session.tray.filter(unit=first).exists()
    assert refreshed(second).state == "in_stock"


def test_signed_out_it_goes_on_and_is_sent_after_signing_in(chart, sign_in, injector):
    chart.settle("0.2")
    chart.page.context.clear_cookies()
    chart.tap(48, 33)
    banner = chart.page.locator("[data-banners]").get_by_role("link", name="Sign in again")
    expect(banner).to_have_attribute("href", f"/staff/sign-in/?next=/charting/%23{chart.key}")
    chart.tap(-48, 33)
    expect(chart.rows).to_have_count(2)
    sign_in(chart.page, injector)
    chart.open()
    chart.is_stored()
    assert InjectionEntry.objects.count() == 2
