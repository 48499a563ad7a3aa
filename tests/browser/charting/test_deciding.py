"""What a person decides about a refusal or a conflict is what the clinic then holds."""

import pytest

from tests.browser.charting.clinic import POINT, said
from tests.browser.charting.meeting import amounts, changed_on_two_tablets, conflict, elsewhere
from tests.browser.charting.tablet import keys

pytestmark = pytest.mark.django_db(transaction=True)
FIRST, SECOND, OTHER = keys(3)
OPEN = {"unit": 12, "diluent_ul": None, "no_diluent": False, "deviation": ""}


def test_dropped_point_leaves_with_what_hangs_on_it_and_nothing_else(
    tab, clinic, key, refuse, settle
):
    op = tab.log(key, FIRST)
    tab.act("move", key, {"key": FIRST, "x_dmm": 1, "y_dmm": 2})
    tab.log(key, SECOND)
    refuse(op)
    assert [row["kind"] for row in tab.run("(id) => app.hanging(id)", op["id"])] == ["move"]
    settle(op, "drop")
    assert (tab.waits(), amounts(clinic, key)) == ([], {SECOND: 200})
    assert op["id"] in clinic.withdrawn
    assert tab.points(key, "key") == [SECOND]


def test_edited_amount_goes_with_what_was_done_to_the_point_after(tab, clinic, key, refuse, settle):
    op = tab.log(key, FIRST, amount=5000)
    tab.act(
        "move",
        key,
        {"key": FIRST, "x_dmm": 1, "y_dmm": 2, "reach_x_dmm": None, "reach_y_dmm": None},
    )
    refuse(op)
    settle(op, "edit", data={"amount": 300, "not_of_a_point": 1})
    assert (tab.waits(), amounts(clinic, key)) == ([], {FIRST: 300})
    assert tab.points(key, "x_dmm", "amount", "where") == [[1, 300, "clinic"]]
    assert [sent.get("instead_of") for sent in clinic.applied.values()] == [op["id"], None]
    assert all("not_of_a_point" not in sent["data"] for sent in clinic.applied.values())


def test_other_unit_takes_over_everything_that_waits_from_the_first(
    tab, clinic, key, refuse, settle
):
    op = tab.act("open", key, OPEN)
    tab.log(key, FIRST, unit=12)
    tab.act("waste", key, {"unit": 12, "amount": 50, "reason": "Primed"})
    refuse(op, conflict(op, "unit"))
    settle(op, "other_unit", unit=13)
    assert tab.waits() == []
    shown = clinic.sessions[key]
    assert [row["pk"] for row in shown["tray"]] == [11, 13]
    assert [(row["pk"], row["left"]) for row in tab.state(key)["tray"]] == [(11, 1000), (13, 750)]
    assert [row["unit"] for row in shown["points"]] == [13]


def test_unit_not_on_the_tray_is_opened_for_what_came_from_it(tab, clinic, key, refuse, settle):
    op = tab.log(key, FIRST, amount=5000)
    refuse(op)
    settle(op, "other_unit", unit=13)
    assert tab.waits() == []
    assert clinic.sessions[key]["points"][0]["unit"] == 13
    assert [sent["data"]["unit"] for sent in clinic.applied.values() if sent["kind"] == "open"] == [
        13
    ]


def test_unit_that_was_not_used_leaves_with_what_came_from_it_alone(
    tab, clinic, key, refuse, settle
):
    op = tab.act("open", key, OPEN)
    tab.log(key, FIRST, unit=12)
    tab.log(key, SECOND)
    tab.act("edit", key, {"note": "Well tolerated"})
    refuse(op, conflict(op, "unit"))
    settle(op, "drop")
    assert (tab.waits(), amounts(clinic, key)) == ([], {SECOND: 200})
    assert clinic.sessions[key]["note"] == "Well tolerated"
    assert [row["pk"] for row in tab.state(key)["tray"]] == [11]


def test_unit_that_was_used_all_the_same_keeps_the_reason(tab, clinic, key, refuse, settle):
    op = tab.act("open", key, OPEN)
    tab.log(key, FIRST, unit=12)
    refuse(op, conflict(op, "unit"))
    settle(op, "deviation", reason="Already drawn up when it was recalled")
    assert (tab.waits(), amounts(clinic, key)) == ([], {FIRST: 200})
    assert clinic.sessions[key]["tray"][1]["deviation"] == "Already drawn up when it was recalled"


def test_change_done_again_stands_over_the_other_tablets(tab, clinic, key, refuse, settle):
    op = changed_on_two_tablets(tab, clinic, key, refuse)
    settle(op, "again")
    assert (tab.waits(), amounts(clinic, key)) == ([], {FIRST: 350})
    assert list(clinic.applied.values())[-1]["base"] == OTHER


def test_dropped_change_leaves_the_other_tablets(tab, clinic, key, refuse, settle):
    op = changed_on_two_tablets(tab, clinic, key, refuse)
    settle(op, "drop")
    assert (tab.waits(), amounts(clinic, key)) == ([], {FIRST: 500})
    assert tab.points(key, "amount", "where") == [[500, "clinic"]]


def test_change_of_a_point_removed_elsewhere_brings_it_back_first(tab, clinic, key, refuse, settle):
    clinic.fault = ""
    tab.log(key, FIRST)
    tab.flush()
    clinic.fault = "away"
    op = tab.act("change", key, POINT | {"key": FIRST, "amount": 350})
    elsewhere(clinic, key, "remove", {"key": FIRST})
    refuse(op, conflict(op))
    settle(op, "again")
    assert (tab.waits(), amounts(clinic, key)) == ([], {FIRST: 350})
    assert clinic.kinds()[-2:] == ["restore", "change"]


def test_session_signed_meanwhile_gets_what_was_done_as_an_addendum(
    tab, clinic, key, refuse, settle
):
    op = tab.log(key, FIRST)
    tab.act(
        "move",
        key,
        {"key": FIRST, "x_dmm": 1, "y_dmm": 2, "reach_x_dmm": None, "reach_y_dmm": None},
    )
    refuse(op, conflict(op, "session"))
    settle(op, "addendum")
    assert tab.waits() == []
    added = list(clinic.applied.values())[-1]
    assert (added["kind"], added["data"]["point"]) == ("addendum", None)
    assert "Injected" in added["data"]["text"]
    assert "0.2 mL of HA filler 1 mL, lot LOT42" in added["data"]["text"]
    assert amounts(clinic, key) == {}


def test_session_that_exists_already_takes_what_was_done_in_the_new_one(
    tab, clinic, key, refuse, settle
):
    clinic.fault = "away"
    started = tab.run("""async () => {
        app.snapshots.clear();
        app.states.clear();
        const key = app.startSession(7, null, "average");
        await app.queue.write();
        return key;
    }""")
    op = tab.waiting[0]["op"]
    tab.log(started, FIRST)
    tab.act("edit", started, {"note": "Begun on the tablet"})
    refuse(op, conflict(op, "session", existing=key))
    tab.run("""() => {
        window.moves = [];
        app.addEventListener("moved", ({ detail }) => window.moves.push(detail));
    }""")
    settle(op, "again")
    assert tab.waits() == []
    assert (amounts(clinic, key), clinic.sessions[key]["note"]) == (
        {FIRST: 200}, "Begun on the tablet",
    )  # fmt: skip
    assert tab.run("() => window.moves") == [{"from": started, "to": key}]
    assert tab.state(started) is None
    assert tab.points(key, "where") == ["clinic"]


def test_appointment_of_another_session_is_left_out_when_started_again(tab, clinic, refuse, settle):
    clinic.sessions.clear()
    tab.run("() => { app.snapshots.clear(); app.states.clear(); }")
    started = tab.run("""async () => {
        const key = app.startSession(7, 3, "average");
        await app.queue.write();
        return key;
    }""")
    op = tab.waiting[0]["op"]
    refuse(op, conflict(op, "session", data={"appointment": None}))
    settle(op, "again")
    assert tab.waits() == []
    assert list(clinic.sessions) == [started]
    sent = next(op for op in clinic.applied.values() if op["kind"] == "start")
    assert sent["data"]["appointment"] is None


def test_refused_signature_leaves_the_session_open_to_be_signed_anew(
    tab, clinic, key, refuse, settle
):
    op = tab.act("sign", key, {"remainders": {}, "proof": "00"})
    assert tab.state(key)["signed"]["name"] == "Ida Injector"
    refuse(op, conflict(op, "session"))
    assert tab.state(key)["signed"] is None
    settle(op, "edit", data={"amount": 1})
    assert (tab.waits(), clinic.sessions[key]["signed"]) == ([], None)
    again = tab.act("sign", key, {"remainders": {"11": "wasted"}, "proof": "01"})
    tab.flush()
    assert clinic.applied[again["id"]]["data"]["proof"] == "01"
    assert clinic.applied[again["id"]]["data"]["seen"]


def test_what_only_builds_on_a_decided_act_keeps_its_id(tab, clinic, key, refuse, settle):
    """A signature's proof holds its id, so it must not get another."""
    op = tab.act("waste", key, {"unit": 11, "amount": 5000, "reason": "Primed"})
    sign = tab.act("sign", key, {"remainders": {"11": "wasted"}, "proof": "00"})
    refuse(op)
    settle(op, "drop")
    assert tab.waits() == []
    assert sign["id"] in clinic.applied


def test_decision_survives_a_reload_before_it_is_sent(tab, clinic, key, refuse):
    op = tab.log(key, FIRST, amount=5000)
    refuse(op)
    tab.resolve(op, "edit", data={"amount": 300})
    tab.open()
    assert tab.points(key, "amount", "where") == [[300, "tablet"]]
    clinic.fault = ""
    tab.flush()
    assert amounts(clinic, key) == {FIRST: 300}


def test_withdrawal_that_came_too_late_is_not_asked_about(tab, clinic, key, refuse, settle):
    op = refuse(tab.log(key, FIRST))
    tab.run("""async (id) => { app.resolve(id, "drop"); await app.queue.write(); }""", op["id"])
    withdrawal = tab.waiting[0]["op"]
    clinic.refusals[withdrawal["id"]] = said(withdrawal, "refused", "Stored.")
    clinic.fault = ""
    tab.flush()
    assert tab.waits() == []
