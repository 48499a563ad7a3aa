"""On an upright tablet the face stays in sight while the list of points below it grows."""

import pytest
from playwright.sync_api import expect

from tests.browser.chart import Chart
from tests.browser.watch import TABLET_UPRIGHT
from tests.factories import make_point

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_newest_row_does_not_take_the_face_out_of_sight(new_page, sign_in, injector, session):
    unit = session.tray.first().unit
    for number in range(20):
        make_point(session, unit, x_dmm=-400 + 40 * number, y_dmm=330, amount=20)
    page = new_page(viewport=TABLET_UPRIGHT, has_touch=True)
    sign_in(page, injector)
    chart = Chart(page, session.key)
    expect(chart.rows).to_have_count(20)
    assert page.evaluate("() => scrollY") == 0
    chart.tap(20, 60)
    expect(chart.rows).to_have_count(21)
    assert page.evaluate("() => scrollY") == 0
    expect(page.locator("[data-figure=front]")).to_be_in_viewport(ratio=1)
