"""The charting screen under a finger: nothing tapped is lost, doubled or left unsaid."""

import re

import pytest
from playwright.sync_api import expect

from records.sessions.models import InjectionEntry
from records.sessions.services.tray import put_on_tray
from tests.browser.chart import Chart
from tests.browser.watch import TABLET
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
    make_user,
    refreshed,
)

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def injector():
    return make_user("injector")


@pytest.fixture
def unit(injector):
    return make_units(injector, make_product())[0]


@pytest.fixture
def session(injector, unit):
    return make_session_with_unit(injector, make_patient(injector), unit)


@pytest.fixture
def chart(new_page, sign_in, injector, session):
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    return Chart(page, f"/sessions/{session.pk}/")


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


def test_point_tapped_offline_is_kept_through_a_reload_and_sent(chart):
    chart.settle("0.1")
    chart.page.context.set_offline(True)
    chart.tap(30, 60)
    expect(chart.waiting).to_contain_text("Not stored yet: 0.1 on the front view.")
    expect(chart.page.locator("g.pending--late")).to_have_count(1)
    assert not InjectionEntry.objects.exists()
    chart.page.context.set_offline(False)
    chart.open()
    expect(chart.rows).to_have_count(1)
    expect(chart.waiting).to_have_count(0)
    assert InjectionEntry.objects.get().amount == 100


def test_point_whose_answer_was_lost_is_sent_again_and_stored_once(chart):
    lost = []

    def lose_the_first_answer(route):
        if lost:
            route.continue_()
        else:
            route.fetch()
            lost.append(route.request)
            route.abort()

    chart.page.route("**/points/", lose_the_first_answer)
    chart.settle("0.1")
    chart.tap(30, 60)
    retry = chart.waiting.get_by_role("button", name="Retry")
    retry.click()
    expect(chart.rows).to_have_count(1)
    expect(chart.waiting).to_have_count(0)
    assert (len(lost), InjectionEntry.objects.count()) == (1, 1)


def test_page_built_while_a_point_was_stored_asks_for_it_again(chart, session, unit):
    """The old page had its answer after the new page was rendered: the point must be shown."""
    chart.settle("0.1")
    before = chart.page.request.get(chart.url).text()
    chart.tap(30, 60)
    expect(chart.rows).to_have_count(1)
    chart.page.route(
        f"**{chart.url}", lambda route: route.fulfill(body=before, content_type="text/html")
    )
    chart.open()
    expect(chart.rows).to_have_count(1)
    assert InjectionEntry.objects.count() == 1


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


def test_signing_waits_for_points_that_are_not_stored(chart):
    chart.settle("1.2")
    chart.tap(30, 60)
    expect(chart.waiting).to_have_count(1)
    chart.page.click("[data-sign]")
    expect(chart.page.locator("[data-toasts]")).to_contain_text("Some points are not stored yet.")
    expect(chart.page).to_have_url(re.compile(r"/sessions/\d+/$"))


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
