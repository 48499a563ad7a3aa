"""Undo and redo without limit until signing, as acts of their own."""

import pytest

from tests.browser.charting.clinic import POINT
from tests.browser.charting.tablet import keys

pytestmark = pytest.mark.django_db(transaction=True)
FIRST, SECOND = keys(2)
STEP = """async ([side, key]) => {
    const op = app[side](key);
    await app.queue.write();
    return op && op.kind;
}"""


def steps(tab, key: str, side: str, count: int) -> list:
    return [tab.run(STEP, [side, key]) for _ in range(count)]


def test_everything_done_to_points_and_markings_is_undone_and_done_again(tab, clinic, key):
    place = {"view": "front", "x_dmm": 10, "y_dmm": 20, "region": "", "side": ""}
    tab.log(key, FIRST)
    tab.act("change", key, POINT | {"key": FIRST, "amount": 350, "plane": "deep_fat"})
    tab.act(
        "move",
        key,
        {"key": FIRST, "x_dmm": 1, "y_dmm": 2, "reach_x_dmm": None, "reach_y_dmm": None},
    )
    tab.act("plan", key, place | {"key": SECOND})
    tab.act("unplan", key, {"key": SECOND})
    tab.act("remove", key, {"key": FIRST})
    done = tab.state(key)["points"], tab.state(key)["markings"]
    assert steps(tab, key, "undo", 7) == [
        "restore", "replan", "unplan", "move", "change", "remove", None,
    ]  # fmt: skip
    assert tab.points(key, "key") == []
    assert steps(tab, key, "redo", 1) == ["restore"]
    names = ("amount", "plane", "x_dmm", "y_dmm")
    assert tab.points(key, *names) == [[200, "supraperiosteal", 500, 330]]
    assert steps(tab, key, "redo", 6) == ["change", "move", "replan", "unplan", "remove", None]
    for rows, again in zip(
        done, (tab.state(key)["points"], tab.state(key)["markings"]), strict=True
    ):
        changing = ("head", "where", "message")
        assert [{name: row[name] for name in row if name not in changing} for row in rows] == [
            {name: row[name] for name in row if name not in changing} for row in again
        ]


def test_undo_survives_a_reload_and_never_takes_an_act_out_of_the_queue(tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.open()
    assert steps(tab, key, "undo", 1) == ["remove"]
    assert tab.waits() == [["log", "tablet"], ["remove", "tablet"]]
    clinic.fault = ""
    tab.flush()
    assert clinic.kinds() == ["log", "remove"]


def test_new_act_ends_what_could_be_done_again(tab, key):
    tab.log(key, FIRST)
    steps(tab, key, "undo", 1)
    tab.log(key, SECOND)
    assert tab.run("(key) => [app.canUndo(key), app.canRedo(key)]", key) == [True, False]


def test_undo_passes_over_what_another_tablet_took_away(tab, clinic, key):
    tab.run("(key) => { location.hash = key; }", key)
    tab.log(key, FIRST)
    tab.log(key, SECOND)
    tab.flush()
    head = next(row["head"] for row in clinic.sessions[key]["points"] if row["key"] == SECOND)
    clinic.settle({"id": keys(9)[8], "session": key, "kind": "remove", "base": head, "made_at": "",
                   "sequence": 1, "data": {"key": SECOND}})  # fmt: skip
    tab.flush()
    assert steps(tab, key, "undo", 2) == ["remove", None]
    assert tab.points(key, "key") == []


def test_signing_ends_undo(tab, clinic, key):
    tab.log(key, FIRST)
    tab.act("sign", key, {"remainders": {"11": "wasted"}, "proof": "00"})
    assert tab.run("(key) => app.canUndo(key)", key) is False
    tab.flush()
    assert tab.run("(key) => app.histories.get(key).undo.length", key) == 0
