"""The plan on the tablet: labels on the face, lines ticked off, one touch to take a line's way."""

import random

import pytest
from playwright.sync_api import expect

from planning.plan_progress import GivenPoint, PlannedLine, progress
from planning.vocabulary import Measure, Plane, Side, Technique
from records.sessions.models import InjectionEntry
from tests.browser.chart import Chart
from tests.browser.watch import TABLET
from tests.factories import (
    consented,
    make_line,
    make_patient,
    make_plan,
    make_product,
    make_session,
    make_units,
)

pytestmark = pytest.mark.django_db(transaction=True)

PROGRESS = """async (cases) => {
    const { progressOf } = await import("/static/js/charting/planned.js");
    return cases.map(([lines, points]) => {
        const found = progressOf(lines, points);
        const rows = found.lines.map(({ given, state, points: keys }) => [given, state, keys]);
        return [rows, found.unplanned];
    });
}"""


def random_case(pick: random.Random) -> tuple[list[dict], list[dict]]:
    def way() -> dict:
        return {
            "region": pick.choice(["zygomatic", "mental"]), "side": pick.choice(["left", "right"]),
            "plane": pick.choice(["supraperiosteal", "subcutaneous"]),
            "technique": pick.choice(["bolus", "fanning"]),
        }  # fmt: skip

    lines = [
        {**way(), "products": pick.choice([[1, 2], [3]]), "amount": pick.choice([200, 400, 600])}
        for _ in range(pick.randint(1, 5))
    ]
    points = [
        {**way(), "key": f"p{n}", "product": pick.choice([1, 2, 3, 4]), "amount": 200}
        for n in range(pick.randint(0, 9))
    ]
    return lines, points


def expected(lines: list[dict], points: list[dict]) -> list:
    line_of = {1: "a", 2: "a", 3: "b"}
    found = progress(
        [
            PlannedLine(
                key=n, region=row["region"], side=Side(row["side"]),
                product=line_of[row["products"][0]], plane=Plane(row["plane"]),
                technique=Technique(row["technique"]), measure=Measure.VOLUME, amount=row["amount"],
            )
            for n, row in enumerate(lines)
        ],
        [
            GivenPoint(
                key=row["key"], region=row["region"], side=Side(row["side"]),
                product=line_of.get(row["product"], "c"), plane=Plane(row["plane"]),
                technique=Technique(row["technique"]), amount=row["amount"],
            )
            for row in points
        ],
    )  # fmt: skip
    rows = [[row.given, row.state.value, list(row.points)] for row in found.lines]
    return [rows, [point.key for point in found.unplanned]]


def test_a_planned_line_is_taken_logged_and_ticked_off(new_page, sign_in, injector):
    """And the tablet counts points for lines as the planning service does, in 300 random cases."""
    product = make_product("HA filler firm 1 mL", line="HA filler firm")
    unit = make_units(injector, product)[0]
    patient = consented(injector, make_patient(injector))
    make_plan(
        injector, patient, None, make_line(product, amount=200, gauge=27),
        make_line(product, side="right", amount=200, plane="subcutaneous", technique="fanning"),
    )  # fmt: skip
    session = make_session(injector, patient)
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    chart = Chart(page, session.key)
    lines = page.locator("[data-plan-line]")
    chart.touch("#tab-plan")
    expect(lines).to_have_count(2)
    expect(page.locator(".is-shown .plan-mark--open")).to_have_count(2)
    # No unit of it is on the tray yet: the line says what to do.
    chart.touch(lines.first)
    expect(page.locator("[data-settings]")).to_contain_text("Open a unit of HA filler firm first")
    chart.touch("[data-open-unit]")
    chart.touch(f'[data-open-now="{unit.pk}"]')
    chart.touch(lines.first)
    settings = page.locator("[data-settings]")
    expect(settings).to_contain_text("Supraperiosteal")
    expect(settings).to_contain_text("27 G")
    chart.touch('[data-setting="aspiration"]')
    chart.touch(page.get_by_role("radio", name="Done, negative"))
    chart.touch(page.get_by_role("group", name="Common amounts").get_by_text("0.2", exact=True))
    chart.touch("#tab-regions")
    chart.touch('[data-add-region="zygomatic"][data-add-side="left"]')
    chart.touch("#tab-plan")
    expect(lines.first).to_contain_text("Given as planned")
    expect(page.locator(".is-shown .plan-mark--done")).to_have_count(1)
    expect(page.locator(".planned__head")).to_contain_text("1 of 2 given")
    # What was confirmed of another amount does not go into the record with a line's way.
    chart.type_amount("1.5")
    chart.touch("[data-pad-sure]")
    chart.touch(lines.last)
    chart.touch("#tab-regions")
    chart.touch('[data-add-region="zygomatic"][data-add-side="right"]')
    chart.is_stored()
    last = InjectionEntry.objects.get(side="right")
    assert (last.amount, last.confirmed_odd) == (200, "")

    pick = random.Random(5)  # noqa: S311
    cases = [random_case(pick) for _ in range(300)]
    assert page.evaluate(PROGRESS, cases) == [expected(*case) for case in cases]
