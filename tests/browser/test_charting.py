"""The charting screen under a finger: nothing tapped is lost, doubled or left unsaid."""

import re

import pytest
from playwright.sync_api import expect

from records.patients.services import add_alert
from records.sessions.models import InjectionEntry, Marking
from records.sessions.services.tray import put_on_tray
from tests.browser.chart import PATIENCE_MS, Chart
from tests.browser.watch import TABLET, TABLET_UPRIGHT
from tests.factories import (
    consented,
    make_patient,
    make_point,
    make_product,
    make_session,
    make_units,
    refreshed,
)

pytestmark = pytest.mark.django_db(transaction=True)
LINES_OF_FIRST_WORD = """(element) => {
    const range = document.createRange();
    range.setStart(element.firstChild, 0);
    range.setEnd(element.firstChild, element.textContent.indexOf(" "));
    return range.getClientRects().length;
}"""


def test_touch_logs_and_one_more_repeats_it_on_the_other_side(chart, unit):
    chart.settle("0.2")
    chart.tap(48, 33)
    chart.says("Point 1: Zygomatic region, left, 0.2 mL. Stored on this tablet.")
    chart.touch("[data-mirror]")
    chart.says("Point 2: Zygomatic region, right, 0.2 mL. Stored on this tablet.")
    expect(chart.rows).to_have_count(2)
    expect(chart.page.locator("[data-figure=front] [data-point]")).to_have_count(2)
    chart.is_stored()
    expect(chart.page.locator("[data-row][data-where=clinic]")).to_have_count(2)
    left, right = InjectionEntry.objects.order_by("number")
    assert (left.x_dmm, left.y_dmm, right.x_dmm, right.y_dmm) == (480, 330, -480, 330)
    assert refreshed(unit).drawn == 400


def test_touch_without_settings_says_what_is_missing(chart):
    chart.tap(48, 33)
    problem = chart.page.locator("[data-settings] [data-problem]")
    expect(problem).to_contain_text("Not logged: choose amount, plane, technique")
    expect(chart.page.locator("[data-setting=plane].is-missing")).to_be_visible()
    assert not InjectionEntry.objects.exists()


def test_chosen_point_is_nudged_edited_and_removed_and_comes_back(chart, session, unit):
    make_point(session, unit, x_dmm=480, y_dmm=330)
    chart.open()
    chart.touch("[data-choose]")
    chart.page.keyboard.press("ArrowRight")
    chart.page.keyboard.press("ArrowUp")
    chart.says("Moved.")
    chart.set("plane", "Deep fat")
    chart.says("Changed.")
    chart.is_stored()
    point = InjectionEntry.objects.get()
    assert (point.x_dmm, point.y_dmm, point.plane) == (485, 325, "deep_fat")
    chart.touch("[data-remove]")
    expect(chart.rows).to_have_count(0)
    chart.touch("[data-undo]")
    expect(chart.rows).to_have_count(1)
    chart.is_stored()
    assert InjectionEntry.objects.standing().get().plane == "deep_fat"


def test_undo_and_redo_go_all_the_way_back_and_on(chart):
    chart.settle("0.1")
    for y_mm in (25, 35, 45):
        chart.tap(48, y_mm)
    for left in (2, 1, 0):
        chart.touch("[data-undo]")
        expect(chart.rows).to_have_count(left)
    expect(chart.page.locator("[data-undo]")).to_be_disabled()
    for there in (1, 2, 3):
        chart.touch("[data-redo]")
        expect(chart.rows).to_have_count(there)
    expect(chart.page.locator("[data-redo]")).to_be_disabled()
    chart.is_stored()
    assert InjectionEntry.objects.standing().count() == 3


def test_point_is_added_by_region_without_touching_the_drawing(chart):
    chart.settle("0.1")
    chart.tab("Regions")
    chart.touch('[data-add-region="temple"][data-add-side="right"]')
    chart.says("Point 1: Temporal region, right, 0.1 mL.")
    chart.is_stored()
    point = InjectionEntry.objects.get()
    assert (point.region, point.side) == ("temple", "right")


def test_side_view_takes_touches_when_enlarged(chart):
    chart.settle("0.1")
    chart.page.tap("[data-show=left]")
    chart.page.tap("[data-zoom=in]")
    chart.tap(60, 80, "left")
    chart.says("left, 0.1 mL.")
    chart.is_stored()
    point = InjectionEntry.objects.get()
    assert (point.view, round(point.x_dmm, -1), round(point.y_dmm, -1)) == ("left", 600, 800)


def test_an_empty_day_and_an_empty_tray_say_what_comes_next(new_page, sign_in, injector):
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    page.goto("/charting/", timeout=PATIENCE_MS)
    expect(page.get_by_text("Nobody is on today’s list")).to_be_visible()
    page.get_by_role("link", name="Find a patient").tap()
    expect(page).to_have_url(re.compile("/patients/$"))
    Chart(page, make_session(injector, consented(injector, make_patient(injector))).key)
    for part in ("points", "totals"):
        expect(page.locator(f"[data-{part}]")).to_contain_text("Open a unit")


def test_unit_is_opened_from_the_tray_and_chosen(chart, unit, injector):
    spare = make_units(injector, make_product("HA filler 0.5 mL", content=500), number="B7")[0]
    chart.open()
    chart.touch("[data-open-unit]")
    chart.touch(chart.page.get_by_role("button", name=f"Open {spare.label}"))
    chart.says(f"Unit {spare.label}, HA filler 0.5 mL, is on the tray.")
    expect(chart.page.locator(f'[data-unit][value="{spare.pk}"]')).to_be_checked()
    chart.is_stored()
    assert refreshed(spare).state == "opened"


def test_toxin_asks_for_its_diluent_on_the_keypad(chart, injector):
    toxin = make_product(
        "OnabotulinumtoxinA 100 units", kind="toxin", content=10_000, is_single_patient=False,
        hours_after_opening=24,
    )  # fmt: skip
    vial = make_units(injector, toxin, number="T1")[0]
    chart.open()
    chart.touch("[data-open-unit]")
    chart.touch(f'[data-open-now="{vial.pk}"]')
    for key in ("2", ".", "5"):
        chart.touch(f'[data-sheet=keypad] [data-digit="{key}"]')
    chart.touch("[data-pad-done]")
    problem = chart.page.locator("[data-sheet=keypad] [data-problem]")
    expect(problem).to_have_text("Choose the diluent as well.")
    chart.touch("[data-pad-choice=saline]")
    chart.touch("[data-pad-done]")
    card = chart.page.locator(f'[data-unit-card="{vial.pk}"]')
    # Source: reconstitution table of the product information, 100 units with 2.5 mL.
    expect(card).to_contain_text("2.5 mL sodium chloride 0.9 %: 4 units in 0.1 mL")
    expect(card).to_contain_text("by you")
    chart.is_stored()
    made_up = refreshed(vial).opening
    assert (made_up.diluent_ul, made_up.diluent) == (2500, "saline")


def test_waste_is_recorded_with_its_reason(chart, unit):
    chart.touch(chart.page.get_by_label(f"More for unit {unit.label}"))
    chart.touch("[data-waste]")
    for key in ("0", ".", "0", "5"):
        chart.touch(f'[data-sheet=waste] [data-digit="{key}"]')
    chart.touch("[data-waste-done]")
    expect(chart.page.locator("[data-sheet=waste] [data-problem]")).to_have_text(
        "Say why it was wasted."
    )
    chart.touch(chart.page.get_by_role("button", name="Priming the needle"))
    chart.touch("[data-waste-done]")
    expect(chart.page.locator(f'[data-unit-card="{unit.pk}"]')).to_contain_text("0.95 mL left of 1")
    chart.is_stored()
    assert refreshed(unit).wasted == 50


def test_a_marking_is_put_first_and_ticked_off_by_its_point(chart):
    chart.touch("[data-mode=planned]")
    chart.tap(48, 33)
    chart.says("Marking put: Zygomatic region, left.")
    chart.touch("[data-mode=given]")
    chart.settle("0.1")
    chart.tap(48, 33)
    expect(chart.rows).to_have_count(1)
    chart.is_stored()
    point = InjectionEntry.objects.get()
    assert point.marking == Marking.objects.get()
    assert (point.x_dmm, point.y_dmm) == (480, 330)


def test_everything_pressed_is_large_enough_for_a_glove(chart, session, unit):
    """44 CSS pixels: WCAG 2.2, success criterion 2.5.5 (AAA), asked of the charting screen."""
    make_point(session, unit)
    chart.open()
    chart.touch("[data-choose]")
    script = """() => [...document.querySelectorAll(".session button, .session summary")]
        .filter((node) => node.offsetParent && !node.matches(".view__show[aria-pressed=true]"))
        .map((node) => [node.outerHTML.slice(0, 90), node.matches(".view__show")
            ? node.closest("figure").getBoundingClientRect() : node.getBoundingClientRect()])
        .filter(([, box]) => box.width < 43.9 || box.height < 43.9)
        .map(([html, box]) => `${html} ${box.width} x ${box.height}`)"""
    for tab in ("Points", "Regions", "Flags", "Note", "Photos", "Marks"):
        chart.tab(tab)
        assert chart.page.evaluate(script) == [], tab


def test_note_typed_right_before_the_page_is_left_is_kept(chart, session):
    chart.tab("Note")
    chart.page.fill("[data-note-text]", "Well tolerated")
    chart.open()
    chart.tab("Note")
    expect(chart.page.locator("[data-note-text]")).to_have_value("Well tolerated")
    chart.is_stored()
    assert refreshed(session).note == "Well tolerated"
    assert chart.page.evaluate("() => sessionStorage.length") == 0


def test_tray_and_settings_stay_in_view_with_five_units(chart, session, unit, injector):
    toxin = make_product(
        "OnabotulinumtoxinA 100 units", kind="toxin", content=10_000, is_single_patient=False,
        hours_after_opening=24,
    )  # fmt: skip
    vial = make_units(injector, toxin, number="T1")[0]
    put_on_tray(session=session, unit=vial, actor=injector, diluent_ul=2500)
    chart.open()
    name = chart.page.locator(f'[data-unit-card="{vial.pk}"] .unit__product')
    # Beside one other card its first word stays whole.
    assert name.evaluate(LINES_OF_FIRST_WORD) == 1
    for number in ("B1", "B2", "B3"):
        spare = make_units(injector, unit.lot.product, number=number)[0]
        put_on_tray(session=session, unit=spare, actor=injector)
    make_point(session, unit)
    chart.open()
    cards = chart.page.locator("[data-unit-card]")
    expect(cards).to_have_count(5)
    for card in cards.all():
        expect(card).to_be_in_viewport(ratio=0.99)
        expect(card.locator(".unit__left")).to_be_visible()
    # Source: reconstitution table of the product information, 100 units with 2.5 mL.
    for text in ("Shared vial", "4 units in 0.1 mL", "Use before"):
        made_up = chart.page.locator(f'[data-unit-card="{vial.pk}"] .unit__made > *')
        expect(made_up.filter(has_text=text)).to_be_visible()
    for setting in chart.page.locator("[data-setting]").all():
        expect(setting).to_be_in_viewport(ratio=0.99)


def test_mirror_repeats_the_chosen_point_and_leaves_its_settings_alone(chart, session, unit):
    first = make_point(session, unit, x_dmm=480, y_dmm=330, amount=100)
    make_point(session, unit, x_dmm=300, y_dmm=600, amount=200)
    chart.open()
    chart.page.locator("[data-choose]").nth(0).tap()
    chart.touch("[data-done]")
    chart.page.locator("[data-choose]").nth(0).tap()
    chart.page.keyboard.press("Escape")
    expect(chart.page.locator("[data-mirror]")).to_contain_text("2")
    chart.touch("[data-mirror]")
    chart.says("Point 3: ")
    chart.set("plane", "Deep fat")
    chart.is_stored()
    assert refreshed(first).plane == "supraperiosteal"
    assert InjectionEntry.objects.get(number=3).amount == 200


def test_the_only_unit_left_on_the_tray_is_drawn_from(chart, session, unit, injector):
    make_point(session, unit)
    spare = make_units(injector, make_product("HA filler 0.5 mL", content=500), number="B7")[0]
    put_on_tray(session=session, unit=spare, actor=injector)
    chart.open()
    chart.touch(f'[data-unit-card="{spare.pk}"]')
    chart.touch(chart.page.get_by_label(f"More for unit {spare.label}"))
    chart.touch("[data-put-back]")
    chart.says(f"Unit {spare.label} is off the tray.")
    expect(chart.page.locator(f'input[data-unit][value="{unit.pk}"]')).to_be_checked()
    chart.is_stored()
    assert refreshed(spare).state == "in_stock"


def test_what_to_stop_for_stays_in_view(chart, session, injector, unit):
    """Upright and scrolled to the table, and while a unit is chosen."""
    add_alert(
        patient=session.patient, kind="allergy", level="stop", text="Latex", actor=injector
    )  # fmt: skip
    for number in range(9):
        make_units(injector, unit.lot.product, number=f"B{number}")
    chart.page.set_viewport_size(TABLET_UPRIGHT)
    chart.open()
    chart.page.mouse.wheel(0, 2000)
    expect(chart.page.locator(".strip").get_by_text("Latex")).to_be_in_viewport()
    chart.touch("[data-open-unit]")
    dialog = chart.page.locator("#sheet-opening")
    dialog.locator(".candidate").last.scroll_into_view_if_needed()
    expect(dialog.get_by_text("Latex")).to_be_in_viewport()
    expect(dialog.get_by_role("button", name="Close")).to_be_in_viewport()


def test_note_and_measures_are_kept(chart, session):
    chart.tab("Note")
    chart.page.locator("[data-note-text]").fill("Ice before, lip swelled a little.")
    chart.touch("[data-measure=pupil_dmm]")
    for key in ("6", "2", ".", "5"):
        chart.touch(f'[data-sheet=keypad] [data-digit="{key}"]')
    chart.touch("[data-pad-done]")
    expect(chart.page.locator("[data-measure=pupil_dmm]")).to_have_text("62.5 mm")
    chart.is_stored()
    session = refreshed(session)
    assert session.note == "Ice before, lip swelled a little."
    assert session.pupil_dmm == 625
