"""An act leaves the tablet when the server has stored it, whatever happens on the way."""

import pytest

from tests.browser.charting.clinic import POINT, said
from tests.browser.charting.tablet import keys

pytestmark = pytest.mark.django_db(transaction=True)
FIRST, SECOND, THIRD = keys(3)


def test_an_act_is_shown_before_the_call_returns_and_stored_in_the_clinic_after(tab, clinic, key):
    script = """([key, data]) => {
        const seen = [];
        app.addEventListener("change", ({ detail }) => seen.push([...detail.sessions]));
        app.act("log", key, data);
        const [point] = app.session(key).points;
        const [unit] = app.session(key).tray;
        return { seen, where: point.where, number: point.number, left: unit.left };
    }"""
    shown = tab.run(script, [key, POINT | {"key": FIRST}])
    assert shown == {"seen": [[key]], "where": "storing", "number": 1, "left": 800}
    tab.flush()
    tab.until("() => app.waiting.length === 0")
    assert tab.points(key, "where", "number") == [["clinic", 1]]
    assert clinic.kinds() == ["log"]


def test_an_act_is_called_stored_on_the_tablet_only_when_its_writing_is_complete(tab, clinic, key):
    clinic.fault = "away"
    script = """async ([key, data]) => {
        const seen = [];
        const look = () => seen.push([app.session(key).points[0].where, app.waiting[0].state]);
        let complete;
        const put = app.store.putOperations.bind(app.store);
        const gate = new Promise((resolve) => (complete = resolve));
        app.store.putOperations = async (...rows) => {
            await gate;
            await put(...rows);
        };
        app.act("log", key, data);
        await app.tablet.read("device");
        look();
        app.addEventListener("change", look);
        complete();
        await app.queue.write();
        return seen;
    }"""
    seen = tab.run(script, [key, POINT | {"key": FIRST}])
    assert seen == [["storing", "storing"], ["tablet", "tablet"]]


@pytest.mark.parametrize("fault", ["away", "error", "html", "broken", "empty"])
def test_without_a_sound_answer_everything_stays_and_goes_later(tab, clinic, key, fault):
    clinic.fault = fault
    tab.log(key, FIRST)
    tab.flush()
    assert (tab.contact, tab.waits()) == ("away", [["log", "tablet"]])
    assert tab.points(key, "where") == ["tablet"]
    clinic.fault = ""
    tab.flush()
    assert (tab.contact, tab.waits(), clinic.kinds()) == ("ok", [], ["log"])


def test_lost_answer_is_sent_again_and_applied_once(tab, clinic, key):
    clinic.fault = "lost"
    tab.log(key, FIRST)
    tab.act("waste", key, {"unit": 11, "amount": 50, "reason": "Primed the needle"})
    tab.flush()
    clinic.fault = ""
    tab.flush()
    assert tab.waits() == []
    assert sorted(clinic.kinds()) == ["log", "waste"]
    assert len(clinic.received) > 2
    assert tab.state(key)["tray"][0]["left"] == 750


def test_reload_offline_shows_and_later_sends_what_waits(tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.log(key, SECOND, amount=100)
    tab.open()
    assert tab.points(key, "key", "amount", "where") == [
        [FIRST, 200, "tablet"],
        [SECOND, 100, "tablet"],
    ]
    clinic.fault = ""
    tab.flush()
    assert (tab.waits(), clinic.kinds()) == ([], ["log", "log"])


@pytest.mark.parametrize("fault", ["signed out", "sign-in page"])
def test_signed_out_keeps_everything_until_the_author_signs_in(tab, clinic, key, fault):
    clinic.fault = fault
    tab.log(key, FIRST)
    tab.flush()
    assert (tab.contact, tab.waits()) == ("signed-out", [["log", "tablet"]])
    clinic.fault = ""
    tab.flush()
    assert (tab.contact, tab.waits(), clinic.kinds()) == ("ok", [], ["log"])


def test_refused_form_token_is_read_anew_once(tab, clinic, key):
    clinic.fault = "token"
    tab.log(key, FIRST)
    tab.flush()
    assert (tab.contact, tab.waits(), clinic.kinds()) == ("ok", [], ["log"])


def test_one_act_the_server_cannot_read_does_not_keep_the_others(tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.act("edit", key, {"note": "bad"})
    tab.log(key, SECOND)
    clinic.fault = "bad"
    tab.flush()
    assert tab.waits() == [["edit", "refused"]]
    assert tab.waiting[0]["message"] == "This act cannot be read."
    assert clinic.kinds() == ["log", "log"]


def test_what_is_refused_is_still_shown_and_keeps_only_its_own_thing_waiting(tab, clinic, key):
    clinic.fault = "away"
    first = tab.log(key, FIRST)
    tab.act("move", key, {"key": FIRST, "x_dmm": 1, "y_dmm": 2})
    tab.log(key, SECOND)
    clinic.refusals[first["id"]] = said(first, "refused", "More than remains.")
    clinic.fault = ""
    tab.flush()
    assert tab.waits() == [["log", "refused"], ["move", "hold"]]
    assert tab.points(key, "key", "where") == [[SECOND, "clinic"], [FIRST, "attention"]]
    assert clinic.kinds() == ["log"]


def test_held_act_goes_with_a_later_sending_not_in_a_circle(tab, clinic, key):
    clinic.fault = "away"
    op = tab.log(key, FIRST)
    clinic.refusals[op["id"]] = said(op, "hold", "Its unit has not arrived.")
    clinic.fault = ""
    tab.flush()
    assert tab.waits() == [["log", "hold"]]
    sent = len(clinic.received)
    del clinic.refusals[op["id"]]
    tab.flush()
    assert (tab.waits(), len(clinic.received) - sent) == ([], 1)


def test_signature_goes_alone_after_everything_it_covers(tab, clinic, key):
    clinic.fault = "away"
    refused = tab.log(key, FIRST)
    tab.log(key, SECOND)
    tab.act("sign", key, {"remainders": {"11": "wasted"}, "proof": "00"})
    clinic.refusals[refused["id"]] = said(refused, "refused", "More than remains.")
    clinic.fault = ""
    tab.flush()
    assert tab.waits() == [["log", "refused"], ["sign", "tablet"]]
    tab.resolve(refused, "drop")
    assert (tab.waits(), clinic.kinds()) == ([], ["log", "sign"])
    assert [len(batch["operations"]) for batch in clinic.batches][-1] == 1
    assert tab.state(key)["signed"]["name"] == "Ida Injector"


def test_batches_hold_at_most_fifty_in_the_order_of_the_acts(tab, clinic, key):
    clinic.fault = "away"
    script = """async ([key, data, points]) => {
        points.forEach((point) => app.act("log", key, { ...data, key: point, amount: 1 }));
        await app.queue.write();
    }"""
    points = list(keys(120))
    tab.run(script, [key, POINT, points])
    clinic.fault = ""
    tab.flush()
    assert tab.waits() == []
    assert [op["data"]["key"] for op in clinic.applied.values()] == points
    assert max(len(batch["operations"]) for batch in clinic.batches) == 50
    sequences = [op["sequence"] for op in clinic.applied.values()]
    assert sequences == sorted(set(sequences))


def test_changed_clock_changes_no_order(tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.run("""() => {
        const real = Date;
        window.Date = class extends real {
            constructor(...given) {
                given.length ? super(...given) : super(real.now() - 86_400_000);
            }
            static now() { return real.now() - 86_400_000; }
        };
    }""")
    tab.log(key, SECOND)
    assert tab.points(key, "key") == [FIRST, SECOND]
    clinic.fault = ""
    tab.flush()
    made = [op["made_at"] for op in clinic.applied.values()]
    assert [op["data"]["key"] for op in clinic.applied.values()] == [FIRST, SECOND]
    assert made[1] < made[0]


def test_another_tablets_points_arrive_with_an_empty_sending(tab, clinic, key):
    tab.run("(key) => { location.hash = key; }", key)
    other = dict(clinic.sessions[key])
    clinic.settle({
        "id": keys(9)[8], "session": key, "kind": "log", "base": None, "made_at": "", "sequence": 1,
        "data": {**POINT, "key": THIRD},
    })  # fmt: skip
    assert other["key"] == key
    tab.flush()
    assert tab.points(key, "key") == [THIRD]


def test_another_tablets_points_in_a_session_out_of_sight_arrive_with_the_day(tab, clinic, key):
    # A point's operation is the head of the point, not of its session.
    point = {"id": keys(9)[8], "session": key, "kind": "log", "base": None, "made_at": ""}
    clinic.settle(point | {"sequence": 1, "data": {**POINT, "key": THIRD}})
    tab.open()
    assert tab.points(key, "key") == [THIRD]


def test_changed_stock_is_asked_for(tab, clinic, key):
    clinic.seal = "2"
    tab.flush()
    assert tab.run("() => app.day.stock.seal") == "2"


@pytest.mark.parametrize("answer", [{"status": 500, "body": "Broken"}, {"json": {}}])
def test_day_that_does_not_come_keeps_nothing_from_being_sent(tab, clinic, key, answer):
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.page.context.route("**/charting/day/", lambda route: route.fulfill(**answer))
    tab.run("() => { app.sync.dayAt = 0; }")
    clinic.fault = ""
    tab.flush()
    assert (tab.contact, tab.waits(), clinic.kinds()) == ("ok", [], ["log"])


def test_one_act_the_server_breaks_on_does_not_keep_the_others_for_ever(tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.act("edit", key, {"note": "poison"})
    tab.log(key, SECOND)
    clinic.fault = "poison"
    for _ in range(4):
        tab.flush()
    assert (tab.contact, tab.waits(), clinic.kinds()) == (
        "away", [["edit", "tablet"]], ["log", "log"],
    )  # fmt: skip
    clinic.fault = ""
    tab.flush()
    assert (tab.contact, tab.waits()) == ("ok", [])


def test_act_between_two_sendings_is_not_left_until_the_next_poll(tab, clinic, key):
    """After the last look for more, and before the lock of the sending is given back."""
    script = """async ([key, data]) => {
        const rounds = app.sync.rounds.bind(app.sync);
        let isFirst = true;
        app.sync.rounds = async () => {
            await rounds();
            if (isFirst) {
                isFirst = false;
                app.act("log", key, data);
                await app.queue.writing;
            }
        };
        await app.flush();
    }"""
    tab.run(script, [key, POINT | {"key": FIRST}])
    assert (tab.waits(), clinic.kinds()) == ([], ["log"])


def test_sending_asked_for_while_another_fails_is_tried_at_once(tab, clinic, key):
    """As when contact comes back in the middle of a sending that runs into the void."""
    clinic.fault = "away"
    script = """([key, data]) => {
        const exchange = app.sync.exchange.bind(app.sync);
        app.sync.exchange = async (batch) => {
            app.sync.exchange = exchange;
            app.sync.flush();
            throw new Error("Nobody answered.");
        };
        return app.queue.write();
    }"""
    tab.log(key, FIRST)
    tab.flush()
    tab.run(script, [key, POINT])
    clinic.fault = ""
    tab.flush()
    assert (tab.contact, tab.waits(), clinic.kinds()) == ("ok", [], ["log"])


def test_photograph_has_a_minute_where_an_act_has_seconds(tab, key):
    """On a slow line each try was given up before the picture was through."""
    script = """async (key) => {
        const given = [];
        const timeout = AbortSignal.timeout.bind(AbortSignal);
        AbortSignal.timeout = (patience) => { given.push(patience); return timeout(patience); };
        app.keepPicture(key, new Blob(["face"]), { width: 4, height: 3 });
        await app.flush();
        return [Math.min(...given), Math.max(...given)];
    }"""
    assert tab.run(script, key) == [8_000, 60_000]
