"""A point the clinic does not take on the charting screen: what is pressed about it is done."""

import pytest
from playwright.sync_api import expect

from records.sessions.models import InjectionEntry
from tests.factories import make_point, refreshed

pytestmark = pytest.mark.django_db(transaction=True)


def test_refused_point_stays_in_sight_with_the_reason_and_is_sent_again_changed(chart, unit):
    chart.settle_odd("1.2")
    chart.tap(30, 60)
    expect(chart.waiting).to_contain_text("1 mL remain in unit")
    expect(chart.page.locator("[data-stored]")).to_contain_text("1 needs attention")
    for choice in chart.waiting.locator("[data-settle]").all():
        expect(choice).to_be_in_viewport(ratio=0.99)
    expect(chart.page.locator("[data-row]")).to_have_attribute("data-where", "attention")
    chart.touch(chart.waiting.locator("[data-settle=other_unit]"))
    hint = chart.page.get_by_text("Open the other unit first, then choose it here.")
    expect(hint).to_be_in_viewport(ratio=0.99)
    chart.touch(chart.waiting.locator("[data-settle=edit]"))
    pad = chart.page.locator("[data-sheet=keypad]")
    expect(pad).to_contain_text("Amount of point 1")
    expect(pad).to_contain_text("1 mL remain in unit")
    chart.press_amount("0.8")
    expect(chart.waiting).to_have_count(0)
    chart.is_stored()
    assert refreshed(unit).drawn == 800
    assert InjectionEntry.objects.count() == 1


def test_refused_point_corrected_by_hand_is_decided(chart, session, unit):
    make_point(session, unit, amount=200)
    chart.open()
    chart.settle_odd("5")
    chart.tap(30, 60)
    expect(chart.waiting).to_contain_text("0.8 mL remain in unit")
    chart.touch(chart.page.locator("[data-row]").nth(1).locator("[data-choose]"))
    chart.type_amount("0.3")
    chart.touch("[data-done]")
    expect(chart.waiting).to_have_count(0)
    chart.is_stored()
    assert [point.amount for point in InjectionEntry.objects.order_by("number")] == [200, 300]


def test_refused_point_that_was_moved_is_given_up_with_its_move(chart):
    chart.settle_odd("5")
    chart.tap(30, 60)
    chart.touch("[data-choose]")
    chart.page.keyboard.press("ArrowRight")
    chart.says("Moved.")
    chart.touch(chart.waiting.locator("[data-settle=drop]"))
    leave_out = chart.waiting.locator("[data-settle-drop]")
    expect(leave_out).to_be_in_viewport(ratio=0.99)
    chart.touch(leave_out)
    expect(chart.rows).to_have_count(0)
    chart.is_stored()
    assert not InjectionEntry.objects.exists()


def test_refused_point_that_was_not_injected_is_left_out(chart, unit):
    chart.settle_odd("1.2")
    chart.tap(30, 60)
    chart.touch(chart.waiting.locator("[data-settle=drop]"))
    expect(chart.rows).to_have_count(0)
    chart.is_stored()
    assert not InjectionEntry.objects.exists()


def test_refused_waste_asks_for_its_own_amount(chart, session, unit):
    chart.settle("0.5")
    waste = {"unit": unit.pk, "amount": 5000, "reason": "Primed"}
    script = "([key, waste]) => { charting.act('waste', key, waste); }"
    chart.page.evaluate(script, [str(session.key), waste])
    chart.touch(chart.waiting.locator("[data-settle=edit]"))
    chart.press_amount("0.1")
    expect(chart.waiting).to_have_count(0)
    chart.is_stored()
    assert (refreshed(unit).wasted, refreshed(unit).drawn) == (100, 0)
