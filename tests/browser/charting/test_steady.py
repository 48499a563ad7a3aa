"""What a gloved hand rests on: nothing moves under the next touch, nothing is cut to the same."""

import pytest
from playwright.sync_api import expect

from records.sessions.services.tray import put_on_tray
from tests.factories import consented, make_patient, make_product, make_session, make_units

pytestmark = pytest.mark.django_db(transaction=True)

BOXES = """(selector) => [...document.querySelectorAll(selector)].map((node) => {
    const { x, y, width, height } = node.getBoundingClientRect();
    return [node.textContent, x, y, width, height];
})"""


def test_the_face_keeps_its_place_from_the_first_point_to_the_last_product(
    chart, session, injector
):
    for number, name in enumerate(("HA filler soft 20 mg/mL, 1 mL", "HA filler firm, 2 mL")):
        spare = make_units(injector, make_product(name), number=f"B{number}")[0]
        put_on_tray(session=session, unit=spare, actor=injector)
    chart.open()
    cards = chart.page.locator("[data-unit-card]")
    chart.touch(cards.nth(0))
    chart.settle("0.05")
    before = chart.at(0, 0)
    for number in range(3):
        chart.touch(cards.nth(number))
        chart.tap(48, 33 + 6 * number)
        expect(chart.rows).to_have_count(number + 1)
        expect(chart.page.locator(".sums__products li")).to_have_count(number + 1)
        assert chart.at(0, 0) == before


def test_what_is_missing_does_not_push_the_settings_away(chart):
    before = chart.page.evaluate(BOXES, "[data-setting]")
    chart.tap(48, 33)
    expect(chart.page.locator("[data-settings] [data-problem]")).to_be_in_viewport(ratio=0.99)
    assert chart.page.evaluate(BOXES, "[data-setting]") == before


def test_each_view_keeps_its_place_in_the_column(chart):
    page = chart.page
    before = page.locator("[data-figure=hands]").bounding_box()
    chart.touch("[data-show=neck]")
    expect(page.locator("[data-figure=neck].is-shown")).to_be_visible()
    assert page.locator("[data-figure=hands]").bounding_box() == before


def test_the_caution_is_of_the_view_in_sight(chart):
    chart.settle("0.05")
    chart.tap(0, -8)
    expect(chart.page.locator("[data-beware-label]")).to_contain_text("Glabella")
    chart.touch("[data-show=hands]")
    expect(chart.page.locator("[data-beware-label]")).to_have_count(0)


def test_two_ways_that_differ_look_different(chart):
    """Four ways beside the face: none is cut to what another one says."""
    chart.settle("0.05")
    for x_mm, technique in ((48, "Bolus"), (40, "Fanning"), (32, "Linear retrograde")):
        chart.set("technique", technique)
        chart.tap(x_mm, 40)
    chart.set("plane", "Subcutaneous")
    chart.tap(24, 60)
    lines = chart.page.locator(".recent__way > span")
    expect(lines).to_have_count(12)
    cut = "(nodes) => nodes.filter((node) => node.scrollWidth > node.clientWidth)"
    assert lines.evaluate_all(f"{cut}.map((node) => node.textContent)") == []


def test_three_units_are_told_apart_by_name_label_and_lot(chart, session, injector):
    for number, name in enumerate(("HA filler medium 20 mg/mL, 1 mL", "HA filler firm, 2 mL")):
        spare = make_units(injector, make_product(name), number=f"LM2510{number}")[0]
        put_on_tray(session=session, unit=spare, actor=injector)
    chart.open()
    texts = chart.page.locator(":is(.unit__product, .unit__lot)")
    expect(texts).to_have_count(6)
    cut = (
        "(node) => node.scrollWidth > node.clientWidth || node.scrollHeight > node.clientHeight + 1"
    )
    assert texts.evaluate_all(f"(all) => all.filter({cut}).map((node) => node.textContent)") == []


def test_each_sign_of_the_legend_is_drawn_inside_its_square(chart):
    chart.tab("Marks")
    expect(chart.page.locator(".legend li").first).to_be_visible()
    script = """(all) => all.filter((mark) => {
        const ink = mark.querySelector("circle, path, g")?.getBoundingClientRect();
        const square = mark.getBoundingClientRect();
        return !ink || ink.left < square.left || ink.right > square.right || ink.width < 4;
    }).map((mark) => mark.outerHTML)"""
    assert chart.page.locator(".legend__mark").evaluate_all(script) == []


def test_a_kind_of_product_is_one_touch_away_on_the_shelf(chart, injector):
    for number, kind in enumerate(("other_filler", "hyaluronidase", "anaesthetic", "toxin")):
        product = make_product(f"{kind} of the test", kind=kind)
        make_units(injector, product, number=f"B{number}", quantity=2)
    chart.open()
    chart.touch("[data-open-unit]")
    toxin = chart.page.locator(".shelf").filter(has_text="toxin of the test").first
    chart.touch(chart.page.locator("[data-to-shelf]").filter(has_text="Toxin"))
    expect(toxin).to_be_in_viewport(ratio=0.99)


def test_a_layer_of_which_there_is_nothing_says_so(chart):
    chart.touch(".face__layers summary")
    expect(chart.page.locator("[data-layer=last]")).to_be_disabled()
    expect(chart.page.locator("[data-layer=plan]")).to_be_enabled()


def test_a_unit_that_was_used_elsewhere_keeps_its_name_until_somebody_decides(
    chart, unit, session, injector
):
    spare = make_units(injector, make_product("HA filler 0.5 mL", content=500), number="B7")[0]
    chart.open()
    chart.page.wait_for_function(
        "(pk) => charting.day.stock.products.some(({ lots }) => lots.some(({ units }) =>"
        " units.some((unit) => unit.pk === pk)))", arg=spare.pk,
    )  # fmt: skip
    chart.page.context.set_offline(True)
    chart.touch("[data-open-unit]")
    chart.touch(f'[data-open-now="{spare.pk}"]')
    chart.settle("0.1")
    chart.tap(48, 33)
    expect(chart.rows).to_have_count(1)
    other = make_session(injector, consented(injector, make_patient(injector)))
    put_on_tray(session=other, unit=spare, actor=injector)
    chart.page.context.set_offline(False)
    expect(chart.waiting).to_contain_text(f"unit {spare.label} (HA filler 0.5 mL, lot B7)")
    expect(chart.page.locator(f'[data-unit-card="{spare.pk}"]')).to_contain_text("Lot B7")
    expect(chart.page.locator(".sums__products")).to_contain_text("HA filler 0.5 mL")


def test_two_cautions_leave_the_chin_free(chart):
    chart.settle("0.05")
    chart.tap(30, 62)
    cautions = chart.page.locator("[data-cautions] > *")
    expect(cautions).to_have_count(2)
    for x_mm, y_mm in ((24, 92), (-24, 92), (0, 100)):
        chart.tap(x_mm, y_mm)
    expect(chart.rows).to_have_count(4)


def test_both_versions_are_in_sight_and_the_page_stands_still(chart, session, injector):
    """However full the tray is: what a person decides about is read before its buttons."""
    for number in range(3):
        spare = make_units(injector, make_product(f"HA filler {number}, 2 mL"), number=f"B{number}")
        put_on_tray(session=session, unit=spare[0], actor=injector)
    chart.open()
    chart.touch(chart.page.locator("[data-unit-card]").first)
    chart.settle_odd("1.2")
    chart.tap(30, 60)
    expect(chart.waiting.locator(".versions dd")).to_have_count(2)
    ends = "(all) => all.map((node) => node.getBoundingClientRect().bottom)"
    choices = chart.waiting.locator(".attention__acts").bounding_box()
    assert max(chart.waiting.locator(".versions dd").evaluate_all(ends)) <= choices["y"]
    for choice in chart.waiting.locator("[data-settle]").all():
        expect(choice).to_be_in_viewport(ratio=0.99)
    root = chart.page.locator("html")
    assert root.evaluate("(node) => node.scrollHeight - node.clientHeight") == 0


def test_a_signature_without_points_shows_no_empty_totals(chart):
    chart.touch("[data-sign]")
    sheet = chart.page.locator("[data-sheet=signing]")
    expect(sheet).to_contain_text("No point was logged.")
    expect(sheet.get_by_label("Totals")).to_have_count(0)


def test_title_and_options_of_a_sheet_begin_on_one_line(chart):
    chart.touch("[data-setting=plane]")
    sheet = chart.page.locator("[data-sheet=choices]")
    title = sheet.get_by_role("heading").bounding_box()
    assert title["x"] == sheet.get_by_role("radio").first.bounding_box()["x"]
