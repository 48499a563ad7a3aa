"""The screen's words are true at that moment: stored, being stored, overdrawn, moved, given up."""

import pytest
from playwright.sync_api import expect

from records.sessions.models import InjectionEntry
from tests.browser.chart import Chart
from tests.factories import make_point

pytestmark = pytest.mark.django_db(transaction=True)
# The disk takes its time until `finishWriting` is called.
SLOW_DISK = """() => {
    const { store } = charting;
    const put = store.putOperations.bind(store);
    const gate = new Promise((resolve) => { window.finishWriting = resolve; });
    store.putOperations = (...rows) => gate.then(() => put(...rows));
}"""


def without_clinic(chart: Chart) -> None:
    chart.page.route("**/charting/sync/", lambda route: route.abort())


def test_a_point_is_called_stored_only_when_it_is(chart):
    chart.settle("0.2")
    without_clinic(chart)
    chart.page.evaluate(SLOW_DISK)
    chart.tap(48, 33)
    expect(chart.rows).to_have_attribute("data-where", "storing")
    expect(chart.rows.locator(".where")).to_have_text("Storing")
    expect(chart.page.locator("[data-stored]")).to_have_text("Storing on this tablet")
    said = chart.page.locator("[data-said]")
    expect(said).to_have_text("Point 1: Zygomatic region, left, 0.2 mL.")
    expect(chart.page.locator("[data-banners]")).not_to_contain_text("cannot store")
    chart.page.evaluate("() => finishWriting()")
    expect(chart.rows).to_have_attribute("data-where", "tablet")
    chart.says("Point 1: Zygomatic region, left, 0.2 mL. Stored on this tablet.")
    expect(chart.page.locator("[data-stored]")).to_have_text("1 stored on this tablet")


def test_region_follows_a_moved_point_at_once(chart, session, unit):
    make_point(session, unit, x_dmm=480, y_dmm=330, region="zygomatic", side="left")
    chart.open()
    expect(chart.rows).to_have_count(1)
    without_clinic(chart)
    chart.page.evaluate("""() => {
        const [key] = charting.sessionKeys;
        const [{ key: point }] = charting.session(key).points;
        const place = { x_dmm: -480, y_dmm: 330, reach_x_dmm: null, reach_y_dmm: null };
        charting.act("move", key, { key: point, ...place });
    }""")
    expect(chart.rows).to_have_attribute("data-side", "right")
    chart.page.unroute("**/charting/sync/")
    chart.page.evaluate("() => charting.flush()")
    chart.is_stored()
    assert InjectionEntry.objects.get().side == "right"


def test_overdrawn_unit_shows_nothing_left_and_what_to_do(chart, unit):
    chart.settle_odd("1.2")
    chart.tap(30, 60)
    card = chart.page.locator(f'[data-unit-card="{unit.pk}"]')
    expect(card.locator(".unit__left")).to_contain_text("0 mL left")
    sign = card.locator("[data-over]")
    expect(sign).to_contain_text("0.2 mL more than it holds: decide below")
    chart.touch(chart.waiting.locator("[data-settle=drop]"))
    expect(sign).to_have_count(0)


def test_before_a_point_is_left_out_it_is_said_what_goes_with_it(chart, unit):
    chart.settle_odd("1.2")
    without_clinic(chart)
    chart.tap(30, 60)
    chart.touch("[data-choose]")
    chart.page.keyboard.press("ArrowUp")
    chart.page.unroute("**/charting/sync/")
    chart.page.evaluate("() => charting.flush()")
    chart.touch(chart.waiting.locator("[data-settle=drop]"))
    expect(chart.waiting.locator(".attention__hanging li")).to_contain_text(["Move of point 1"])
    expect(chart.rows).to_have_count(1)
    chart.touch(chart.waiting.locator("[data-settle-drop]"))
    expect(chart.rows).to_have_count(0)
    chart.is_stored()
    assert not InjectionEntry.objects.exists()


def test_what_waits_for_an_opening_that_never_comes_can_be_given_up(chart, injector):
    """The clinic goes on to hold the point back; giving it up goes to the real server."""

    def hold(route) -> None:
        operations = route.request.post_data_json["operations"]
        if not any(op["kind"] == "log" for op in operations):
            route.continue_()
            return
        held = {"outcome": "hold", "message": "Its unit has not arrived.", "conflict": None}
        results = [{"id": op["id"], **held} for op in operations]
        user = {"id": injector.pk, "name": ""}
        route.fulfill(json={"user": user, "results": results, "sessions": {}})

    chart.page.route("**/charting/sync/", hold)
    chart.settle("0.2")
    chart.tap(48, 33)
    expect(chart.waiting).to_contain_text("Waits for something that has not arrived")
    chart.touch(chart.waiting.locator("[data-settle=drop]"))
    expect(chart.waiting).to_have_count(0)
    chart.is_stored()
    assert not InjectionEntry.objects.exists()
