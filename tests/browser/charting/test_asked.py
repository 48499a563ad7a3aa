"""What the tablet asks about, once and on the spot, and what is noted beside the points."""

import pytest
from playwright.sync_api import expect

from records.sessions.models import Anaesthesia, InjectionEntry
from tests.browser.chart import Chart
from tests.browser.watch import TABLET
from tests.factories import (
    consented,
    make_patient,
    make_product,
    make_session_with_unit,
    make_units,
)

pytestmark = pytest.mark.django_db(transaction=True)
ASKED = "More than 1 mL in one place is rare; typed: 2 mL."


@pytest.fixture
def large_syringe(new_page, sign_in, injector) -> Chart:
    (unit,) = make_units(injector, make_product("HA filler 3 mL", content=3_000), quantity=1)
    session = make_session_with_unit(injector, consented(injector, make_patient(injector)), unit)
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    return Chart(page, session.key)


@pytest.mark.main_path
def test_an_odd_amount_is_asked_once_and_anaesthesia_is_noted(large_syringe):
    chart = large_syringe
    chart.settle("0.2")
    chart.tap(48, 33)
    chart.type_amount("2")
    sheet = chart.page.locator("[data-sheet=keypad]")
    expect(sheet.locator("[data-problem]")).to_have_text(ASKED)
    # The Enter of a hand that is quicker than the eye confirms nothing.
    expect(sheet.locator("[data-pad-again]")).to_be_focused()
    chart.touch("[data-pad-again]")
    chart.press_amount("2")
    chart.touch("[data-pad-sure]")
    expect(sheet).not_to_be_visible()
    chart.tap(30, 62)
    chart.type_amount("0.3")
    expect(sheet).not_to_be_visible()
    chart.tap(47, 62)
    chart.tab("Note")
    chart.touch("[data-numb]")
    chart.touch('[data-numb-method="block"]')
    chart.page.fill("[data-numb-product]", "Lidocaine with epinephrine")
    chart.touch('[data-numb-strength="20000"]')
    chart.touch("[data-numb-epinephrine]")
    chart.touch("[data-numb-amount]")
    chart.press_amount("1.8")
    chart.touch("[data-numb-done]")
    chart.says("Nerve block, Lidocaine with epinephrine, 1.8 mL, lidocaine 2 % with epinephrine")
    chart.touch("[data-numb-off]")
    chart.touch("[data-undo]")
    chart.is_stored()
    first, second, third = InjectionEntry.objects.order_by("number")
    assert [first.confirmed_odd, second.confirmed_odd, third.confirmed_odd] == ["", ASKED, ""]
    row = Anaesthesia.objects.standing().get()
    assert (row.method, row.volume_ul, row.lidocaine_ug_per_ml) == ("block", 1_800, 20_000)
    chart.tab("Flags")
    expect(chart.page.locator("[data-flags]")).to_contain_text(
        f"{ASKED} Confirmed by Ida Injector."
    )
