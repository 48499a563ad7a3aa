"""Undo and redo without limit until signing, as acts of their own."""

import pytest

from tests.browser.charting.clinic import POINT, said
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


def test_redo_passes_over_what_a_unit_was_needed_for_that_left_the_tray(tab, clinic, key):
    """Done again, it was sent to a clinic that had no such unit on the tray, and waited."""
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.act("open", key, {"unit": 12, "diluent_ul": None, "no_diluent": False, "deviation": ""})
    tab.act("change", key, POINT | {"key": FIRST, "unit": 12})
    assert steps(tab, key, "undo", 1) == ["change"]
    tab.act("put_back", key, {"unit": 12})
    assert tab.run("(key) => app.canRedo(key)", key) is False
    assert tab.points(key, "unit") == [11]


@pytest.mark.parametrize("way", ["undo", "remove"])
def test_a_point_the_clinic_did_not_take_is_given_up_by_taking_it_back(tab, clinic, key, way):
    """Its card stayed, and the removing waited behind what was refused."""
    clinic.fault = "away"
    op = tab.log(key, FIRST, amount=5000)
    tab.act("move", key, {"key": FIRST, "x_dmm": 1, "y_dmm": 2})
    clinic.refusals[op["id"]] = said(op, "refused", "More than remains.")
    clinic.fault = ""
    tab.flush()
    assert tab.waits() == [["log", "refused"], ["move", "hold"]]
    if way == "undo":
        steps(tab, key, "undo", 2)
    else:
        tab.act("remove", key, {"key": FIRST})
    tab.flush()
    assert (tab.waits(), tab.points(key, "key"), clinic.kinds()) == ([], [], [])
    assert op["id"] in clinic.withdrawn
    assert tab.run("(key) => app.canRedo(key)", key) is False


def test_signing_ends_undo(tab, clinic, key):
    tab.log(key, FIRST)
    tab.act("sign", key, {"remainders": {"11": "wasted"}, "proof": "00"})
    assert tab.run("(key) => app.canUndo(key)", key) is False
    tab.flush()
    assert tab.run("(key) => app.histories.get(key).undo.length", key) == 0


REFERENCE = """() => {
    app.reference = { with_reach: ["fanning"], regions: [], words: {}, views: [] };
}"""


def test_reach_goes_with_the_technique_that_had_it_and_comes_back_with_undo(tab, clinic, key):
    tab.run(REFERENCE)
    reach = {"reach_x_dmm": 600, "reach_y_dmm": 300}
    tab.log(key, FIRST, technique="fanning", **reach)
    tab.act("change", key, {"key": FIRST, "technique": "bolus"})
    names = ("technique", "reach_x_dmm", "reach_y_dmm")
    assert tab.points(key, *names) == [["bolus", None, None]]
    tab.run("(key) => app.undo(key)", key)
    assert tab.points(key, *names) == [["fanning", 600, 300]]
    tab.run("(key) => app.redo(key)", key)
    assert tab.points(key, *names) == [["bolus", None, None]]


def test_region_follows_a_moved_point_unless_it_was_overruled(tab, clinic, key):
    """As records.sessions.services.points.move_point, there and back."""
    clinic.fault = "away"
    tab.run("""() => {
        const sides = [{ region: "temple", side: "right" }, { region: "zygomatic", side: "left" }];
        app.locate = (view, x) => sides[Number(x > 0)];
    }""")
    tab.log(key, FIRST)
    tab.log(key, SECOND, region="chin")
    for point in (FIRST, SECOND):
        place = {"x_dmm": -500, "y_dmm": 330, "reach_x_dmm": None, "reach_y_dmm": None}
        tab.act("move", key, {"key": point, **place})
    moved = [["temple", "right"], ["chin", "left"]]
    assert tab.points(key, "region", "side") == moved
    for _ in range(2):
        tab.run("(key) => app.undo(key)", key)
    assert tab.points(key, "region", "side") == [["zygomatic", "left"], ["chin", "left"]]
    for _ in range(2):
        tab.run("(key) => app.redo(key)", key)
    assert tab.points(key, "region", "side") == moved
