"""A quarantine reaches a tablet at its next contact, and the tablet says so until it was read."""

import pytest
from playwright.sync_api import expect

from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import place_quarantine, quarantine_lot
from clinic.stock.models import UnitOfStock
from tests.browser.chart import Chart
from tests.browser.watch import TABLET
from tests.factories import (
    consented,
    make_patient,
    make_product,
    make_session_with_unit,
    make_units,
    make_user,
    refreshed,
)

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def owner(db):
    return make_user("owner")


def meet_the_clinic(chart: Chart) -> None:
    """The next contact, which comes by itself within 20 seconds."""
    chart.page.evaluate("() => charting.flush()")


def test_unit_on_the_tray_is_flagged_at_the_next_contact_until_it_was_read(
    chart, session, unit, owner
):
    quarantine_lot(lot=unit.lot, reason="Maker\u2019s notice 7", actor=owner)
    meet_the_clinic(chart)
    card = chart.page.locator(f'[data-unit-card="{unit.pk}"]')
    expect(card).to_contain_text("In quarantine: Maker\u2019s notice 7")
    news = chart.page.locator("[data-news-item]")
    words = "Lot LOT42 was put in quarantine at"
    expect(news).to_contain_text(words)
    expect(news).to_contain_text("Maker\u2019s notice 7. Not to be injected.")
    expect(news).to_contain_text(f"Unit {unit.label} is on the tray of {session.patient}.")
    expect(chart.page.locator("[data-points]")).to_contain_text(words)
    chart.open()
    expect(news).to_contain_text(words)
    chart.touch("[data-news-read]")
    expect(news).to_have_count(0)
    chart.open()
    expect(chart.page.locator("[data-points]")).to_contain_text(words)
    expect(news).to_have_count(0)
    # What happened can be written down, and is flagged.
    chart.settle("0.2")
    chart.tap(48, 33)
    chart.says("From a unit in quarantine.")
    chart.is_stored()
    chart.tab("Flags")
    flags = chart.page.locator("[data-flags]")
    expect(flags).to_contain_text(f"1 point was drawn from unit {unit.label} while it stood.")
    chart.touch("[data-sign]")
    rest = chart.page.locator(f'[data-key="left-{unit.pk}"]')
    expect(rest).to_contain_text(words)


def test_shared_unit_in_quarantine_does_not_stay_in_use_by_itself(
    new_page, sign_in, injector, owner
):
    vial = make_units(injector, make_product(is_single_patient=False, hours_after_opening=24))[0]
    session = make_session_with_unit(injector, consented(injector, make_patient(injector)), vial)
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    chart = Chart(page, session.key)
    chart.touch("[data-sign]")
    rest = page.locator(f'[data-remainder="{vial.pk}"]')
    expect(rest.first).to_be_checked()
    page.keyboard.press("Escape")
    quarantine_lot(lot=vial.lot, reason="Maker\u2019s notice 7", actor=owner)
    meet_the_clinic(chart)
    chart.touch("[data-news-read]")
    chart.touch("[data-sign]")
    expect(page.locator(f'[data-remainder-held="{vial.pk}"]')).to_be_visible()
    assert rest.evaluate_all("(all) => all.map(({ value, checked }) => [value, checked])") == [
        ["wasted", False], ["shared", False],
    ]  # fmt: skip


def test_unit_opened_without_contact_after_it_was_stopped_waits_for_a_person(
    chart, session, unit, owner, injector
):
    held, free = make_units(injector, unit.lot.product, number="B1")
    UnitOfStock.objects.filter(pk=held.pk).update(serial="S1")
    UnitOfStock.objects.filter(pk=free.pk).update(serial="S2")
    chart.open()
    # The stock comes after the screen, which opens with what the tablet keeps.
    chart.touch("[data-open-unit]")
    expect(chart.page.locator(f'[data-open-now="{held.pk}"]')).to_be_visible()
    chart.page.keyboard.press("Escape")
    chart.page.context.set_offline(True)
    span = Quarantine(
        product=unit.lot.product, lot_first="B1", lot_last="B1", serial_first="S1",
        serial_last="S1", reason="Cracked glass",
    )  # fmt: skip
    place_quarantine(quarantine=span, actor=owner)
    chart.touch("[data-open-unit]")
    chart.touch(f'[data-open-now="{held.pk}"]')
    chart.page.context.set_offline(False)
    meet_the_clinic(chart)
    expect(chart.waiting).to_contain_text(f"Unit {held.label} is in quarantine: Cracked glass")
    card = chart.page.locator(f'[data-unit-card="{held.pk}"]')
    expect(card).to_contain_text("In quarantine: Cracked glass")
    chart.touch("[data-news-read]")
    ways = chart.waiting.locator("[data-settle]")
    assert ways.evaluate_all("(all) => all.map(({ dataset }) => dataset.settle)") == [
        "drop", "other_unit", "deviation",
    ]  # fmt: skip
    assert refreshed(held).state == "in_stock"
    chart.touch(chart.waiting.locator("[data-settle=drop]"))
    chart.is_stored()
    # The shelf offers the other one of the lot, and says why not this one.
    chart.touch("[data-open-unit]")
    sheet = chart.page.locator("[data-sheet=opening]")
    expect(sheet.locator(f'[data-open-now="{free.pk}"]')).to_be_visible()
    refused = sheet.locator(".candidate--refused").filter(has_text=held.label)
    expect(refused).to_contain_text("Cracked glass")
    expect(sheet.locator(f'[data-open-now="{held.pk}"]')).to_have_count(0)
