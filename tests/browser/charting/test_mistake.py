"""A session started by mistake: the way out of it, and what another tablet did in it meanwhile."""

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from planning.vocabulary import Jaw
from records.charting.queries.reference import reference_url
from records.sessions.models import InjectionEntry, SessionPicture, TreatmentSession
from records.sessions.services.sittings import set_aside_session, start_session
from tests.browser.chart import PATIENCE_MS, STORED, Chart
from tests.browser.charting.clinic import POINT
from tests.browser.charting.tablet import Tab, keys
from tests.browser.test_accessibility import violations
from tests.browser.watch import KEPT, TABLET
from tests.factories import consented, make_appointment, make_patient, refreshed

pytestmark = pytest.mark.django_db(transaction=True)
FIRST, SECOND = keys(2)
KEEP_PICTURE = """async (key) => {
    const canvas = Object.assign(document.createElement("canvas"), { width: 80, height: 60 });
    const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg"));
    const picture = app.keepPicture(key, blob, { width: 80, height: 60 });
    await app.kept.save(app.kept.pictures.get(picture));
    return picture;
}"""


@pytest.fixture
def booked(injector, desk):
    """Today's appointment of a patient nobody meant."""
    patient = consented(injector, make_patient(injector, "Wrong Row"))
    return make_appointment(desk, patient, injector, f"{timezone.localdate()} 10:00")


@pytest.fixture
def page(new_page, sign_in, injector, booked) -> Page:
    """The day's list on a tablet that works without network from now on."""
    page = new_page(viewport=TABLET, has_touch=True, **KEPT)
    sign_in(page, injector)
    page.goto("/charting/", timeout=PATIENCE_MS)
    expect(page.locator("[data-day]")).to_contain_text("Wrong Row", timeout=PATIENCE_MS)
    page.wait_for_function("() => navigator.serviceWorker.controller !== null", timeout=PATIENCE_MS)
    return page


def started(page: Page) -> Chart:
    """One touch in the wrong row."""
    page.locator("[data-chart]").tap()
    return Chart.at_hand(page, page.evaluate("() => location.hash.slice(1)"))


def set_aside(chart: Chart) -> None:
    chart.touch("[data-mistake]")
    expect(chart.page.locator("#sheet-mistake")).to_contain_text("Wrong Row")
    chart.touch("[data-mistake-done]")
    day = chart.page.locator("[data-day]")
    expect(day).to_be_visible()
    # As it was: to come, with its button, and not under way.
    expect(day.locator("[data-chart]")).to_have_count(1)
    expect(day).not_to_contain_text("Under way")


@pytest.mark.parametrize("network", ["in contact", "without network"])
def test_one_touch_too_much_is_taken_back_with_one_question(page, booked, network):
    if network == "without network":
        page.context.set_offline(True)
    chart = started(page)
    set_aside(chart)
    right = started(page)
    assert right.key != chart.key
    page.context.set_offline(False)
    expect(page.locator("[data-stored]")).to_contain_text(STORED, timeout=PATIENCE_MS)
    assert TreatmentSession.objects.get(key=chart.key).is_set_aside
    session = TreatmentSession.objects.unsigned().get()
    assert (str(session.key), session.appointment) == (right.key, booked)


def test_it_is_kept_when_the_answer_is_no(page):
    chart = started(page)
    chart.touch("[data-mistake]")
    page.get_by_role("button", name="Keep it").tap()
    expect(page.locator("#sheet-mistake")).to_be_hidden()
    chart.is_stored()
    assert TreatmentSession.objects.get().is_open


def test_it_is_offered_until_something_is_written_and_large_enough_to_touch(page):
    chart = started(page)
    offer = page.locator("[data-mistake]")
    assert offer.bounding_box()["height"] >= 44
    chart.touch("[data-mistake]")
    expect(page.locator("#sheet-mistake")).to_be_visible()
    assert violations(page) == []
    page.get_by_role("button", name="Keep it").tap()
    page.evaluate("(key) => { charting.act('edit', key, { note: 'Calm' }); }", chart.key)
    expect(offer).to_have_count(0)
    chart.is_stored()


def test_it_is_not_offered_with_a_unit_on_the_tray(chart):
    expect(chart.page.locator("[data-points]")).to_contain_text("No point yet")
    expect(chart.page.locator("[data-mistake]")).to_have_count(0)


@pytest.fixture
def tablet(new_page, sign_in, injector, empty) -> Tab:
    """The data layer of a tablet, without its page, that knows the empty session."""
    page = new_page()
    blank = {"body": "<!doctype html><title>Tablet</title>", "content_type": "text/html"}
    page.route("**/charting/", lambda route: route.fulfill(**blank))
    sign_in(page, injector)
    page.goto("/")  # gives the browser its form token
    return Tab(page, reference_url()).open()


@pytest.fixture
def empty(booked, injector) -> TreatmentSession:
    return start_session(
        patient=booked.patient, injector=injector, appointment=booked, jaw=Jaw.BROADER
    )


def opening(unit) -> dict:
    return {"unit": unit.pk, "diluent_ul": None, "no_diluent": False, "deviation": ""}


def test_what_was_charted_meanwhile_goes_on_in_a_new_session(tablet, empty, booked, unit, injector):
    key = str(empty.key)
    tablet.page.context.set_offline(True)
    tablet.act("open", key, opening(unit))
    for point in (FIRST, SECOND):
        tablet.act("log", key, POINT | {"key": point, "unit": unit.pk})
    set_aside_session(session=empty, actor=injector)
    tablet.page.context.set_offline(False)
    tablet.flush()
    assert tablet.waits() == [["open", "conflict"], ["log", "conflict"], ["log", "conflict"]]
    # Both versions are shown, and the points with them.
    assert tablet.points(key, "where") == ["attention", "attention"]
    tablet.resolve(tablet.waiting[1]["op"], "anew")
    assert tablet.waits() == []
    session = TreatmentSession.objects.unsigned().get()
    assert (session.patient, session.appointment, session.jaw) == (
        booked.patient,
        booked,
        "broader",
    )
    assert {str(point.key) for point in session.points.all()} == {FIRST, SECOND}
    assert refreshed(unit).drawn == 400
    assert refreshed(empty).is_set_aside


def test_what_was_charted_meanwhile_can_be_left_out(tablet, empty, unit, injector):
    tablet.page.context.set_offline(True)
    op = tablet.act("open", str(empty.key), opening(unit))
    tablet.act("log", str(empty.key), POINT | {"key": FIRST, "unit": unit.pk})
    set_aside_session(session=empty, actor=injector)
    tablet.page.context.set_offline(False)
    tablet.flush()
    tablet.resolve(op, "drop")
    assert tablet.waits() == []
    assert not InjectionEntry.objects.exists()


def test_a_photograph_taken_meanwhile_goes_into_a_new_session(tablet, empty, injector):
    tablet.page.context.set_offline(True)
    picture = tablet.run(KEEP_PICTURE, str(empty.key))
    set_aside_session(session=empty, actor=injector)
    tablet.page.context.set_offline(False)
    tablet.flush()
    assert tablet.waits() == [["picture", "refused"]]
    assert tablet.state(str(empty.key))["set_aside_at"]
    tablet.resolve({"id": picture}, "anew")
    tablet.flush()
    assert tablet.waits() == []
    assert SessionPicture.objects.get().session == TreatmentSession.objects.unsigned().get()


def test_a_session_somebody_charted_in_meanwhile_is_kept(tablet, empty, unit, injector):
    key = str(empty.key)
    tablet.page.context.set_offline(True)
    op = tablet.act("set_aside", key, {})
    assert not tablet.state(key)["is_open"]
    assert tablet.run(
        "(key) => { try { app.act('edit', key, {note: 'x'}); } "
        "catch ({ message }) { return message; } }",
        key,
    ).startswith("This session")
    TreatmentSession.objects.filter(pk=empty.pk).update(note="From another tablet")
    tablet.page.context.set_offline(False)
    tablet.flush()
    assert tablet.waits() == [["set_aside", "conflict"]]
    assert tablet.state(key)["is_open"]
    tablet.resolve(op, "drop")
    assert tablet.waits() == []
    assert refreshed(empty).is_open


def test_a_start_that_goes_on_elsewhere_does_not_set_that_session_aside(
    tablet, booked, injector, empty
):
    tablet.page.context.set_offline(True)
    set_aside_session(session=empty, actor=injector)
    key = "00000000-0000-4000-8000-00000000000a"
    start = tablet.act(
        "start", key, {"patient": booked.patient_id, "appointment": None, "jaw": "average"}
    )
    tablet.act("set_aside", key, {})
    other = start_session(patient=booked.patient, injector=injector, jaw=Jaw.AVERAGE)
    tablet.page.context.set_offline(False)
    tablet.flush()
    assert tablet.waits() == [["start", "conflict"], ["set_aside", "hold"]]
    tablet.resolve(start, "again")
    assert tablet.waits() == []
    assert refreshed(other).is_open
