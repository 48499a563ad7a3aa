"""Points, changes and removals while the network, the answer or the sign-in is missing."""

import re

import pytest
from playwright.sync_api import expect

from records.sessions.models import InjectionEntry
from records.sessions.services.signing import sign_session
from tests.browser.chart import Chart
from tests.factories import make_point, refreshed

pytestmark = pytest.mark.django_db(transaction=True)


def test_point_tapped_offline_is_kept_through_a_reload_and_sent(chart):
    chart.settle("0.1")
    chart.page.context.set_offline(True)
    chart.tap(30, 60)
    expect(chart.waiting).to_contain_text("Not stored yet: 0.1 mL, front view.")
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


def test_signing_waits_for_points_that_are_not_stored(chart):
    chart.settle("1.2")
    chart.tap(30, 60)
    expect(chart.waiting).to_have_count(1)
    chart.page.click("[data-sign]")
    expect(chart.page.locator("[data-toasts]")).to_contain_text("Some points are not stored yet.")
    expect(chart.page).to_have_url(re.compile(r"/sessions/\d+/$"))


def test_acts_without_an_answer_are_kept_through_a_reload_and_sent(chart, session, unit):
    first, second, third = (
        make_point(session, unit, x_dmm=480, y_dmm=y_dmm) for y_dmm in (280, 330, 380)
    )
    chart.open()
    chart.page.context.set_offline(True)
    chart.page.locator(".points__choose").nth(0).click()
    chart.page.select_option("#id_plane", "deep_fat")
    expect(chart.waiting).to_contain_text("Not stored yet: the change of point 1.")
    chart.page.locator(".points__choose").nth(1).click()
    chart.page.locator("[data-nudge='5,0']").click()
    expect(chart.waiting.filter(has_text="the move of point 2")).to_contain_text("be reached")
    chart.page.locator(".points__choose").nth(2).click()
    chart.page.click("[data-remove]")
    expect(chart.waiting.filter(has_text="the removal of point 3")).to_contain_text("be reached")
    chart.page.context.set_offline(False)
    chart.open()
    expect(chart.waiting).to_have_count(0)
    expect(chart.rows).to_have_count(2)
    assert refreshed(first).plane == "deep_fat"
    assert refreshed(second).x_dmm == 485
    assert refreshed(third).removed_at is not None


def test_unsent_change_can_be_taken_back(chart, session, unit):
    point = make_point(session, unit)
    chart.open()
    chart.page.context.set_offline(True)
    chart.page.click(".points__choose")
    chart.page.click("[data-remove]")
    chart.waiting.get_by_role("button", name="Leave it as it was").click()
    chart.page.context.set_offline(False)
    chart.open()
    expect(chart.waiting).to_have_count(0)
    assert refreshed(point).removed_at is None


def test_two_tabs_offline_keep_the_points_of_both(chart):
    chart.settle("0.1")
    other = Chart(chart.page.context.new_page(), chart.url)
    other.settle("0.2")
    chart.page.context.set_offline(True)
    chart.tap(30, 60)
    expect(other.waiting).to_contain_text("0.1 mL, front view")
    other.tap(-30, 60)
    expect(other.page.locator("[data-waiting]")).to_contain_text(
        "2 points not stored yet: 0.1 mL, front view; 0.2 mL, front view. The server cannot be"
    )
    other.page.close()
    chart.page.context.set_offline(False)
    chart.open()
    expect(chart.rows).to_have_count(2)
    assert sorted(InjectionEntry.objects.values_list("amount", flat=True)) == [100, 200]


def test_signed_out_with_points_unsent_they_are_sent_after_signing_in(chart, sign_in, injector):
    chart.settle("0.1")
    chart.page.context.clear_cookies()
    chart.tap(30, 60)
    expect(chart.waiting).to_contain_text("You are signed out.")
    expect(chart.waiting.get_by_role("link", name="Sign in")).to_be_visible()
    sign_in(chart.page, injector)
    chart.open()
    expect(chart.rows).to_have_count(1)
    assert InjectionEntry.objects.count() == 1


def test_pages_to_sign_and_signed_say_what_this_tablet_never_sent(chart, session, unit, injector):
    chart.settle("0.1")
    chart.page.route("**/points/", lambda route: route.abort())
    chart.tap(30, 60)
    expect(chart.waiting).to_contain_text("be reached")
    chart.page.goto(f"{chart.url}sign/")
    unsent = chart.page.locator("[data-unsent]")
    expect(unsent).to_contain_text("never stored: 0.1 mL, front view.")
    sign_session(session=session, remainders={unit.pk: "wasted"}, actor=injector)
    chart.page.goto(chart.url)
    expect(unsent).to_contain_text("add it to the note as an addendum")
    unsent.get_by_role("button", name="It is settled").click()
    expect(unsent).to_be_hidden()


def test_waste_whose_answer_was_lost_is_recorded_once(chart, unit):
    lost = []

    def lose_the_first_answer(route):
        if lost:
            route.continue_()
        else:
            route.fetch()
            lost.append(route.request)
            route.abort()

    chart.page.route("**/waste/", lose_the_first_answer)
    chart.page.get_by_role("button", name=f"More for unit {unit.label}").click()
    chart.page.get_by_role("button", name="Record waste").click()
    dialog = chart.page.locator("#waste")
    dialog.get_by_label("Amount").fill("0.05")
    dialog.get_by_label("Why").fill("Primed the needle")
    dialog.get_by_role("button", name="Record the waste").click()
    expect(dialog.locator("[data-problem]")).to_contain_text("cannot be reached")
    dialog.get_by_role("button", name="Record the waste").click()
    chart.says("0.05 mL from unit")
    assert refreshed(unit).wasted == 50
