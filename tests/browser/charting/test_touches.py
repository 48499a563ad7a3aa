"""How many touches a session takes. The goals are the brief's: see each test."""

import pytest
from playwright.sync_api import expect

from records.sessions.models import InjectionEntry, TreatmentSession
from tests.browser.chart import SETTINGS, Chart
from tests.browser.watch import TABLET
from tests.factories import (
    consented,
    make_patient,
    make_product,
    make_session,
    make_units,
    refreshed,
)

pytestmark = pytest.mark.django_db(transaction=True)

# Six regions on each side of the face, in millimetres of the drawing: right ones have a negative x.
SYMMETRIC = [(48, 33), (38, 48), (30, 62), (47, 62), (20, -42), (58, -14)]
GOAL = 75


@pytest.fixture
def shelf(injector):
    """A soft filler and a medium one; of the medium two syringes are used up."""
    soft = make_units(injector, make_product("HA filler soft 1 mL"), number="S1")
    medium = make_units(injector, make_product("HA filler medium 1 mL"), quantity=4, number="M1")
    return soft, medium


@pytest.fixture
def empty_chart(new_page, sign_in, injector, shelf) -> Chart:
    session = make_session(injector, consented(injector, make_patient(injector)))
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    return Chart(page, session.key)


def open_unit(chart: Chart, unit) -> None:
    chart.touch("[data-open-unit]")
    chart.touch(f'[data-open-now="{unit.pk}"]')


def step(chart: Chart, amount: str) -> None:
    chart.touch(
        chart.page.get_by_role("group", name="Common amounts").get_by_text(amount, exact=True)
    )


def test_thirty_points_over_twelve_regions_take_at_most_75_touches(
    empty_chart, shelf, record_property
):
    """
    The issue's script: 30 points, 12 regions (a side counts as its own), 2 products, 3 syringes,
    opening the syringes included.
    """
    chart, (soft, medium) = empty_chart, shelf
    open_unit(chart, soft[0])
    for name, label in SETTINGS.items():
        chart.set(name, label)
    step(chart, "0.05")
    for x, y in SYMMETRIC[:3]:
        for side in (1, -1):
            chart.tap(side * x, y)
            chart.tap(side * x, y + 7)
    open_unit(chart, medium[0])
    step(chart, "0.1")
    chart.set("plane", "Deep fat")
    for x, y in SYMMETRIC[3:]:
        for side in (1, -1):
            chart.tap(side * x, y)
    for x, y in SYMMETRIC[3:]:
        chart.tap(x, y - 9)
    open_unit(chart, medium[1])
    for x, y in SYMMETRIC[3:]:
        chart.tap(-x, y - 9)
    chart.touch(f'[data-unit-card="{soft[0].pk}"]')
    for x, y in SYMMETRIC[:3]:
        chart.tap(x, y + 13)
        chart.tap(-x, y + 13)
    chart.is_stored()
    points = InjectionEntry.objects.standing()
    assert points.count() == 30
    assert len({(point.region, point.side) for point in points}) >= 12
    assert points.values("unit").distinct().count() == 3
    record_property("touches", chart.touches)
    assert chart.touches <= GOAL, f"{chart.touches} touches"


def test_a_repeat_point_takes_one_touch_and_a_change_of_amount_two(empty_chart, shelf):
    """The issue: two touches for a repeat point, three for a change of amount."""
    chart, (soft, _) = empty_chart, shelf
    open_unit(chart, soft[0])
    chart.settle("0.1")
    chart.tap(48, 33)
    before = chart.touches
    chart.tap(-48, 33)
    assert chart.touches - before == 1 <= 2
    before = chart.touches
    step(chart, "0.2")
    chart.tap(30, 62)
    assert chart.touches - before == 2 <= 3
    chart.is_stored()
    assert sorted(InjectionEntry.objects.values_list("amount", flat=True)) == [100, 100, 200]
    assert refreshed(soft[0]).drawn == 400


def test_a_way_used_before_is_one_touch_away(empty_chart, shelf):
    chart, (soft, _) = empty_chart, shelf
    open_unit(chart, soft[0])
    chart.settle("0.1")
    chart.tap(48, 33)
    chart.set("plane", "Deep fat")
    chart.tap(-48, 33)
    ways = chart.page.locator("[data-recent]")
    expect(ways).to_have_count(2)
    before = chart.touches
    chart.touch(ways.get_by_text("Supraperiosteal"))
    chart.tap(30, 62)
    assert chart.touches - before == 2
    chart.is_stored()
    session = TreatmentSession.objects.get()
    planes = session.points.order_by("number").values_list("plane", flat=True)
    assert list(planes) == ["supraperiosteal", "deep_fat", "supraperiosteal"]
