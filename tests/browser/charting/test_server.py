"""The tablet's data layer against the real server: what is shown, sent, decided and stored."""

import json

import pytest

from clinic.stock.models import UnitOfStock
from planning.vocabulary import Jaw
from records.charting.queries.reference import reference_url
from records.sessions.models import Addendum, InjectionEntry
from records.sessions.services.signing import sign_session
from records.sessions.services.sittings import start_session
from records.sessions.services.tray import put_on_tray
from tests.browser.charting.clinic import POINT
from tests.browser.charting.tablet import Tab, keys
from tests.factories import make_patient, refreshed

pytestmark = pytest.mark.django_db(transaction=True)
FIRST, SECOND, THIRD, MARK = keys(4)
# What the tablet shows of a session before the server has heard of it.
SHOWN = (
    "key", "number", "removed", "unit", "view", "x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm",
    "region", "side", "plane", "technique", "instrument", "gauge", "length_mm", "aspiration",
    "amount", "deviation", "by", "measure", "kind", "product_name", "unit_label", "head",
)  # fmt: skip


@pytest.fixture
def new_tablet(new_page, sign_in, injector):
    """`new_tablet()`: a tablet of its own, signed in; its page is empty."""

    def make() -> Tab:
        page = new_page()
        empty = "<!doctype html><title>Tablet</title>"
        blank = {"body": empty, "content_type": "text/html"}
        page.route("**/charting/", lambda route: route.fulfill(**blank))
        sign_in(page, injector)
        # Gives the browser its form token.
        page.goto("/")
        return Tab(page, reference_url()).open()

    return make


@pytest.fixture
def key(session) -> str:
    return str(session.key)


@pytest.fixture
def tablet(new_tablet, key) -> Tab:
    return new_tablet()


@pytest.fixture
def place(unit) -> dict:
    return POINT | {"unit": unit.pk}


def log(tablet: Tab, key: str, point: str, place: dict, **fields) -> dict:
    return tablet.act("log", key, place | {"key": point} | fields)


def offline(tablet: Tab) -> None:
    tablet.page.context.set_offline(True)


def online(tablet: Tab) -> None:
    tablet.page.context.set_offline(False)
    tablet.flush()


def amounts() -> dict:
    return {str(point.key): point.amount for point in InjectionEntry.objects.standing()}


def test_what_was_shown_without_network_is_what_the_clinic_then_holds(tablet, key, place, unit):
    offline(tablet)
    log(tablet, key, FIRST, place)
    log(tablet, key, SECOND, place, amount=50, x_dmm=-500, side="right", technique="fanning",
        reach_x_dmm=-400, reach_y_dmm=300)  # fmt: skip
    log(tablet, key, THIRD, place, amount=100)
    tablet.act("change", key, place | {"key": FIRST, "amount": 300, "plane": "deep_fat"})
    tablet.act("remove", key, {"key": THIRD})
    tablet.act("plan", key, {"key": MARK, "view": "front", "x_dmm": 480, "y_dmm": 300,
                             "region": "zygomatic", "side": "left"})  # fmt: skip
    tablet.act("waste", key, {"unit": unit.pk, "amount": 20, "reason": "Primed the needle"})
    tablet.act("edit", key, {"note": "Well tolerated", "pupil_dmm": 640})
    before = tablet.state(key)
    online(tablet)
    after = tablet.state(key)
    assert tablet.waits() == []
    for one, other in zip(before["points"], after["points"], strict=True):
        assert {name: one[name] for name in SHOWN} == {name: other[name] for name in SHOWN}
    for name in ("note", "measures", "fit", "totals", "head"):
        assert before[name] == after[name]
    assert (
        [row["left"] for row in before["tray"]] == [row["left"] for row in after["tray"]] == [630]
    )
    assert [row["point"] for row in after["markings"]] == [None]
    assert amounts() == {FIRST: 300, SECOND: 50}
    assert refreshed(unit).wasted == 20


def test_whole_session_of_a_day_without_network(new_tablet, injector, unit):
    patient = make_patient(injector, "Ben Example")
    start_session(patient=make_patient(injector), injector=injector, jaw=Jaw.AVERAGE)
    tablet = new_tablet()
    offline(tablet)
    key = tablet.run(
        """async (patient) => {
        const key = app.startSession(patient, null, "broader");
        await app.queue.write();
        return key;
    }""",
        patient.pk,
    )
    tablet.act(
        "open", key, {"unit": unit.pk, "diluent_ul": None, "no_diluent": False, "deviation": ""}
    )
    log(tablet, key, FIRST, POINT | {"unit": unit.pk})
    assert tablet.points(key, "where", "product_name") == [["tablet", "HA filler 1 mL"]]
    online(tablet)
    assert (tablet.waits(), tablet.points(key, "where")) == ([], ["clinic"])
    stored = patient.sessions.get()
    assert (str(stored.key), stored.jaw, stored.tray.get().unit) == (key, "broader", unit)


def test_answer_lost_after_the_commit_stores_once(tablet, key, place):
    lost = []

    def lose_the_first_answer(route):
        if lost or not json.loads(route.request.post_data)["operations"]:
            route.continue_()
        else:
            route.fetch()
            lost.append(route.request)
            route.abort()

    tablet.page.route("**/charting/sync/", lose_the_first_answer)
    log(tablet, key, FIRST, place)
    tablet.flush()
    tablet.flush()
    assert (len(lost), tablet.waits(), amounts()) == (1, [], {FIRST: 200})


def test_signed_out_at_the_clinic_and_in_again(tablet, key, place, sign_in, injector):
    tablet.page.context.clear_cookies()
    log(tablet, key, FIRST, place)
    tablet.flush()
    assert (tablet.contact, tablet.waits()) == ("signed-out", [["log", "tablet"]])
    sign_in(tablet.page, injector)
    tablet.flush()
    assert (tablet.contact, tablet.waits(), amounts()) == ("ok", [], {FIRST: 200})


@pytest.mark.parametrize(("choice", "amount"), [("again", 350), ("drop", 500)])
def test_two_tablets_change_one_point_and_a_person_decides(
    tablet, new_tablet, key, place, choice, amount
):
    log(tablet, key, FIRST, place)
    tablet.flush()
    other = new_tablet()
    offline(tablet)
    op = tablet.act("change", key, place | {"key": FIRST, "amount": 350})
    other.act("change", key, place | {"key": FIRST, "amount": 500})
    other.flush()
    online(tablet)
    assert tablet.waits() == [["change", "conflict"]]
    assert tablet.points(key, "amount", "where") == [[350, "attention"]]
    tablet.resolve(op, choice)
    assert (tablet.waits(), amounts()) == ([], {FIRST: amount})
    assert tablet.points(key, "amount", "where") == [[amount, "clinic"]]


def test_overdrawn_point_is_shown_and_goes_once_its_amount_is_changed(tablet, key, place):
    op = log(tablet, key, FIRST, place, amount=1500)
    tablet.flush()
    assert tablet.waits() == [["log", "refused"]]
    assert tablet.points(key, "amount", "where") == [[1500, "attention"]]
    tablet.resolve(op, "edit", data={"amount": 900})
    assert (tablet.waits(), amounts()) == ([], {FIRST: 900})


def test_unit_opened_for_somebody_else_meanwhile_becomes_another(
    new_tablet, tablet, key, place, injector, unit
):
    taken, spare = UnitOfStock.objects.exclude(pk=unit.pk).get(), unit
    offline(tablet)
    opening = {"unit": taken.pk, "diluent_ul": None, "no_diluent": False, "deviation": ""}
    op = tablet.act("open", key, opening)
    log(tablet, key, FIRST, place | {"unit": taken.pk})
    elsewhere = start_session(
        patient=make_patient(injector, "Cid Example"), injector=injector, jaw=Jaw.AVERAGE
    )
    put_on_tray(session=elsewhere, unit=taken, actor=injector)
    online(tablet)
    assert tablet.waits() == [["open", "conflict"], ["log", "hold"]]
    tablet.resolve(op, "other_unit", unit=spare.pk)
    assert (tablet.waits(), amounts()) == ([], {FIRST: 200})
    assert InjectionEntry.objects.get().unit == spare


def test_what_was_done_in_a_session_signed_meanwhile_becomes_an_addendum(
    tablet, session, key, place, injector, unit
):
    offline(tablet)
    op = log(tablet, key, FIRST, place)
    sign_session(session=session, remainders={unit.pk: "wasted"}, actor=injector)
    online(tablet)
    assert tablet.waits() == [["log", "conflict"]]
    tablet.resolve(op, "addendum")
    assert (tablet.waits(), amounts()) == ([], {})
    assert "0.2 mL of HA filler 1 mL" in Addendum.objects.get().text


def test_undo_and_redo_end_with_one_point(tablet, key, place):
    log(tablet, key, FIRST, place)
    for side in ("undo", "redo", "undo", "redo"):
        tablet.run(
            "async ([side, key]) => { app[side](key); await app.queue.write(); }", [side, key]
        )
    tablet.flush()
    assert (tablet.waits(), amounts()) == ([], {FIRST: 200})
