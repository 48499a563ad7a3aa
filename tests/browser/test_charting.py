"""The charting screen under a finger: nothing tapped is lost, doubled or left unsaid."""

import pytest
from playwright.sync_api import expect

from records.patients.services import add_alert
from records.sessions.models import InjectionEntry
from records.sessions.services.tray import put_on_tray
from tests.browser.watch import TABLET_UPRIGHT
from tests.factories import (
    make_point,
    make_product,
    make_units,
    refreshed,
)

pytestmark = pytest.mark.django_db(transaction=True)


def test_touch_logs_and_one_more_repeats_it_on_the_other_side(chart, unit):
    chart.settle("0.2")
    chart.tap(48, 33)
    chart.says("Point 1: Zygomatic region, left, 0.2 mL. Stored.")
    chart.page.click("[data-mirror]")
    chart.says("Point 2: Zygomatic region, right, 0.2 mL. Stored.")
    expect(chart.rows).to_have_count(2)
    expect(chart.page.locator("[data-figure=front] [data-point]")).to_have_count(2)
    left, right = InjectionEntry.objects.order_by("number")
    assert (left.x_dmm, left.y_dmm, right.x_dmm, right.y_dmm) == (480, 330, -480, 330)
    assert refreshed(unit).drawn == 400


def test_touch_without_settings_says_what_is_missing(chart):
    chart.tap(48, 33)
    problem = chart.page.locator("[data-settings] [data-problem]")
    expect(problem).to_contain_text("Not logged: choose amount, plane, technique")
    assert not InjectionEntry.objects.exists()


def test_refused_point_stays_in_sight_with_the_reason(chart, unit):
    chart.settle("1.2")
    chart.tap(30, 60)
    expect(chart.waiting).to_contain_text("1 mL remain in unit")
    expect(chart.page.locator("#id_amount")).to_have_value("1.2")
    chart.page.fill("#id_amount", "0.8")
    chart.waiting.get_by_role("button", name="Send with the settings above").click()
    chart.says("0.8 mL. Stored.")
    assert refreshed(unit).drawn == 800


def test_chosen_point_is_nudged_edited_and_removed_with_undo(chart, session, unit):
    make_point(session, unit, x_dmm=480, y_dmm=330)
    chart.open()
    chart.page.click(".points__choose")
    chart.page.keyboard.press("ArrowRight")
    chart.page.keyboard.press("ArrowUp")
    chart.says("Moved.")
    chart.page.select_option("#id_plane", "deep_fat")
    chart.says("Changed.")
    point = InjectionEntry.objects.get()
    assert (point.x_dmm, point.y_dmm, point.plane) == (485, 325, "deep_fat")
    chart.page.click("[data-remove]")
    expect(chart.rows).to_have_count(0)
    chart.page.get_by_role("button", name="Undo").click()
    chart.says("Point 2: Zygomatic region, left, 0.2 mL. Stored.")
    assert InjectionEntry.objects.standing().get().plane == "deep_fat"


def test_point_is_added_by_region_without_touching_the_drawing(chart):
    chart.settle("0.1")
    chart.page.click("[data-by-region]")
    chart.page.select_option("#how-region", "temple")
    chart.page.select_option("#how-side", "right")
    chart.page.click("[data-add-by-region]")
    chart.says("Point 1: Temporal region, right, 0.1 mL. Stored.")


def test_side_view_takes_touches_when_enlarged(chart):
    chart.settle("0.1")
    chart.page.click("[data-show=left]")
    chart.page.click("[data-zoom=in]")
    chart.tap(60, 80, "left")
    chart.says("left, 0.1 mL. Stored.")
    point = InjectionEntry.objects.get()
    assert (point.view, round(point.x_dmm, -1), round(point.y_dmm, -1)) == ("left", 600, 800)


def test_unit_is_opened_from_the_tray_and_chosen(chart, unit, injector):
    spare = make_units(injector, make_product("HA filler 0.5 mL", content=500), number="B7")[0]
    chart.page.click("[data-open-unit]")
    chart.page.get_by_role("button", name=f"Open {spare.label}").click()
    chart.says(f"Unit {spare.label}, HA filler 0.5 mL, is on the tray.")
    expect(chart.page.locator(f'[data-unit][value="{spare.pk}"]')).to_be_checked()


def test_everything_pressed_is_large_enough_for_a_glove(chart, session, unit):
    """44 CSS pixels: WCAG 2.2, success criterion 2.5.5 (AAA), asked of the charting screen."""
    make_point(session, unit)
    chart.open()
    script = """() => [...document.querySelectorAll(".chart button, .chart select, .chart summary")]
        .filter((node) => node.offsetParent && !node.matches(".view__show[aria-pressed=true]"))
        .map((node) => [node.outerHTML.slice(0, 90), node.matches(".view__show")
            ? node.closest("figure").getBoundingClientRect() : node.getBoundingClientRect()])
        .filter(([, box]) => box.width < 43.9 || box.height < 43.9)
        .map(([html, box]) => `${html} ${box.width} x ${box.height}`)"""
    assert chart.page.evaluate(script) == []


def test_four_rows_stay_in_view_with_five_units_on_the_tray(chart, session, unit, injector):
    toxin = make_product(
        "OnabotulinumtoxinA 100 units", kind="toxin", content=10_000, is_single_patient=False,
        hours_after_opening=24,
    )  # fmt: skip
    vial = make_units(injector, toxin, number="T1")[0]
    put_on_tray(session=session, unit=vial, actor=injector, diluent_ul=2500)
    for number in ("B1", "B2", "B3"):
        spare = make_units(injector, unit.lot.product, number=number)[0]
        put_on_tray(session=session, unit=spare, actor=injector)
    for y_dmm in (330, 380, 430, 480):
        make_point(
            session, unit, x_dmm=300, y_dmm=y_dmm, amount=100, technique="linear_retrograde",
            instrument="cannula", gauge=25, length_mm=50,
        )  # fmt: skip
    chart.open()
    panel = chart.page.locator("#more-points").bounding_box()
    rows = [row.bounding_box() for row in chart.rows.all()]
    assert rows[0]["y"] >= panel["y"] - 1
    assert rows[3]["y"] + rows[3]["height"] <= panel["y"] + panel["height"] + 1


def test_unit_drawn_from_is_scrolled_into_view(chart, session, unit, injector):
    units = [make_units(injector, unit.lot.product, number=f"B{n}")[0] for n in range(4)]
    for spare in units:
        put_on_tray(session=session, unit=spare, actor=injector)
    make_point(session, units[-1], amount=100)
    chart.open()
    card = chart.page.locator(f'[data-unit-card="{units[-1].pk}"]')
    expect(card.locator("[data-unit]")).to_be_checked()
    expect(card).to_be_in_viewport(ratio=0.9)


def test_amount_typed_for_a_chosen_point_is_kept_when_the_face_is_touched(chart, session, unit):
    point = make_point(session, unit, x_dmm=480, y_dmm=330, amount=200)
    chart.open()
    chart.settle("0.1")
    chart.page.click(".points__choose")
    chart.page.fill("#id_amount", "0.3")
    chart.tap(30, 60)
    expect(chart.rows).to_have_count(2)
    assert refreshed(point).amount == 300


def test_mirror_repeats_the_chosen_point_and_leaves_its_settings_alone(chart, session, unit):
    first = make_point(session, unit, x_dmm=480, y_dmm=330, amount=100)
    make_point(session, unit, x_dmm=300, y_dmm=600, amount=200)
    chart.open()
    chart.page.locator(".points__choose").nth(0).click()
    expect(chart.page.locator("[data-mirror]")).to_contain_text("1")
    chart.page.click("[data-mirror]")
    chart.says("Point 3: Zygomatic region, right, 0.1 mL. Stored.")
    chart.page.select_option("#id_plane", "deep_fat")
    expect(chart.page.locator("[data-how-next]")).to_be_visible()
    assert refreshed(first).plane == "supraperiosteal"


def test_the_only_unit_left_on_the_tray_is_drawn_from(chart, session, unit, injector):
    """The rows of the table were counted as units: with a point there was never an only one."""
    make_point(session, unit)
    spare = make_units(injector, make_product("HA filler 0.5 mL", content=500), number="B7")[0]
    put_on_tray(session=session, unit=spare, actor=injector)
    chart.open()
    chart.page.locator(".unit").filter(has_text=spare.label).locator(".unit__product").tap()
    chart.page.get_by_label(f"More for unit {spare.label}").tap()
    chart.page.get_by_role("button", name="Put back unused").tap()
    chart.says(f"Unit {spare.label} is off the tray.")
    expect(chart.page.locator(f'input[data-unit][value="{unit.pk}"]')).to_be_checked()


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
    chart.page.click("[data-open-unit]")
    chart.page.locator("#typed-label").scroll_into_view_if_needed()
    dialog = chart.page.locator("#open-unit")
    expect(dialog.get_by_text("Latex")).to_be_in_viewport()
    expect(dialog.get_by_role("button", name="Close")).to_be_in_viewport()
