"""The comparison finds what it is there to find: each kind of loss, each kind of doubling."""

import copy
from collections import Counter

import pytest

from tests.chaos.tablet import lost_in_choice
from tests.chaos.verdict import Act, Shown, Stored, differences

POINT = {
    "unit": 7, "view": "front", "x_dmm": 500, "y_dmm": 330, "plane": "supraperiosteal",
    "technique": "bolus", "instrument": "needle", "amount": 20,
}  # fmt: skip


def act(id: str, kind: str, data: dict, base: str | None = None, **fields) -> Act:
    return Act(id, kind, "s", data, base, tablet="tablet 1", step=1, **fields)


class Day:
    """A small day on which everything is right; each test breaks one thing of it."""

    def __init__(self) -> None:
        acts = [
            act("start", "start", {"patient": 1}),
            act("log", "log", {"key": "p", **POINT}),
            act("move", "move", {"key": "p", "x_dmm": 510, "y_dmm": 340}, base="log"),
            act("waste", "waste", {"unit": 7, "amount": 3, "reason": "drop"}, base="start"),
            act("plan", "plan", {"key": "m", "view": "front", "x_dmm": 1, "y_dmm": 2}),
        ]
        self.acts = {each.id: each for each in acts}
        self.acknowledged = Counter(self.acts)
        moved = POINT | {"x_dmm": 510, "y_dmm": 340, "session": "s", "removed": False}
        self.stored = Stored(
            operations={},
            points={"p": moved},
            markings={"m": False},
            units={7: {"label": "U7", "drawn": 20, "waste": [3], "ledger": 20, "held": False}},
            events=Counter({"point.logged": 1, "session.started": 1}),
        )
        for each in acts:
            self.store(each.id, each.kind)
        self.shown = Shown("tablet 1", {"p": copy.deepcopy(moved)}, {"s"}, {7: False}, [])

    @property
    def found(self) -> str:
        return "; ".join(differences(self.acts, self.acknowledged, self.stored, [self.shown]))

    def store(self, id: str, kind: str) -> None:
        """One more row, after all others."""
        order = len(self.stored.operations)
        self.stored.operations[id] = {"kind": kind, "outcome": "applied", "order": order}

    def lose(self, id: str) -> None:
        del self.stored.operations[id]


@pytest.fixture
def day() -> Day:
    return Day()


def test_nothing_is_found_where_all_is_well(day):
    assert day.found == ""


def test_acknowledged_and_not_stored(day):
    day.lose("waste")
    assert "acknowledged, but not stored: waste" in day.found


def test_made_and_never_sent(day):
    day.acts["late"] = act("late", "edit", {"note": "x"}, base="waste")
    assert "made on a tablet, given up by nobody, but not stored (no row): edit late" in day.found


def test_act_that_was_torn_away_before_it_was_written_may_be_missing(day):
    day.acts["late"] = act("late", "edit", {"note": "x"}, base="waste", is_torn=True)
    assert day.found == ""
    day.acts["late"].is_written = True
    assert "not stored" in day.found


def test_given_up_and_yet_stored(day):
    day.acts["move"].given_up = True
    assert "given up by a person, but stored: move" in day.found


def test_what_was_stored_before_it_was_given_up_stands_once(day):
    day.acts["move"].given_up = True
    day.acts["withdraw"] = act("withdraw", "withdraw", {"operation": "move"})
    assert day.found == ""
    day.acts["move"].replaced_by = "again"
    day.acts["again"] = act("again", "move", {"key": "p", "x_dmm": 510, "y_dmm": 340}, base="move")
    day.store("again", "move")
    assert day.found == "stored, and stored again as again: move move on log (step 1, tablet 1)"


def test_stored_under_an_id_nobody_made(day):
    day.store("stray", "log")
    assert "stored, but never asked for: log stray" in day.found


def test_effect_is_missing(day):
    del day.stored.points["p"]
    assert "point p should be in the database and is not" in day.found


def test_effect_is_doubled(day):
    day.stored.points["q"] = dict(day.stored.points["p"])
    assert "point q is in the database; no stored act made it" in day.found
    day.stored.events["point.logged"] += 1
    assert "1 times log stored, 2 times in the trail" in day.found


def test_waste_is_doubled(day):
    day.stored.units[7]["waste"].append(3)
    assert "unit U7: waste [3, 3] stored, [3] asked for" in day.found


def test_change_is_lost_although_its_row_is_there(day):
    day.stored.points["p"]["x_dmm"] = 500
    assert "point p: x_dmm is 500, should be 510" in day.found


def test_decided_without_a_person(day):
    day.acts["other"] = act("other", "move", {"key": "p", "x_dmm": 0, "y_dmm": 9}, base="log")
    day.store("other", "move")
    assert "stored after move move on log" in day.found


def test_built_on_nothing(day):
    day.acts["move"].base = "unheard of"
    assert "which it does not build on: move" in day.found


def test_what_builds_on_a_given_up_act_goes_on_from_what_took_its_place(day):
    day.acts["move"].given_up, day.acts["move"].replaced_by = True, "again"
    day.acts["again"] = act("again", "move", {"key": "p", "x_dmm": 510, "y_dmm": 340}, base="log")
    day.acts["remove"] = act("remove", "remove", {"key": "p"}, base="move")
    day.stored.operations["move"]["outcome"] = "withdrawn"
    day.store("again", "move")
    day.store("remove", "remove")
    del day.acknowledged["move"]
    day.stored.points["p"]["removed"] = True
    day.stored.units[7] |= {"drawn": 0, "ledger": 0}
    day.shown.points = {}
    assert day.found == ""


def test_unit_does_not_add_up(day):
    day.stored.units[7]["drawn"] = 40
    assert "unit U7: 40 drawn, its points sum to 20" in day.found


def test_ledger_has_other_draws_than_the_points(day):
    day.stored.units[7]["ledger"] = 40
    assert day.found == "unit U7: the ledger's draws sum to 40, its points to 20"


def test_unit_is_opened_while_it_or_its_lot_is_in_quarantine(day):
    day.stored.held = [("quarantined", "lot", "3"), ("opened", "unit", "7"), ("opened", "lot", "3")]
    assert day.found == "lot 3 was opened while it was in quarantine, and no reason is written"
    day.stored.held.insert(1, ("released", "lot", "3"))
    assert day.found == ""
    day.stored.held.insert(2, ("quarantined", "unit", "7"))
    assert day.found == "unit 7 was opened while it was in quarantine, and no reason is written"


def test_tablet_does_not_say_that_a_unit_on_its_tray_is_in_quarantine(day):
    day.stored.units[7]["held"] = True
    assert day.found == "tablet 1 shows unit U7 as free, which is wrong"


def test_marking_is_lost(day):
    day.stored.markings = {}
    assert "marking m is in the database or asked for, but not both" in day.found


def test_session_is_set_aside_unasked_or_with_a_point(day):
    day.stored.set_aside = {"s"}
    assert "session s is set aside or was to be, but not both" in day.found
    assert "point p is in a session that was set aside" in day.found


def test_session_that_was_to_be_set_aside_is_not(day):
    day.acts["aside"] = act("aside", "set_aside", {}, base="waste")
    day.store("aside", "set_aside")
    assert "session s is set aside or was to be, but not both" in day.found


def test_tablet_shows_another_place(day):
    day.shown.points["p"]["x_dmm"] = 500
    assert "tablet 1 shows x_dmm 500 for point p, the clinic has 510" in day.found


def test_tablet_misses_a_point_or_shows_a_ghost(day):
    day.shown.points["ghost"] = day.shown.points.pop("p")
    assert "does not show point p" in day.found
    assert "shows point ghost, which the clinic does not have" in day.found


def test_tablet_still_keeps_something(day):
    day.shown.waiting = ["waste"]
    assert "tablet 1 still keeps 1" in day.found


def test_the_tools_own_checks_count(day):
    day.stored.faults = ["verify_audit: broken at 7"]
    assert "broken at 7" in day.found


GONE = {"id": "1", "kind": "move", "data": {"key": "p"}}


def test_choice_that_keeps_an_act_makes_it_anew():
    chosen = {"choice": "again", "kind": "move", "gone": [GONE], "made": []}
    assert lost_in_choice(chosen) == ["move 1 went with the choice again"]
    chosen["made"] = [GONE | {"id": "2"}]
    assert lost_in_choice(chosen) == []


def test_choice_that_drops_an_act_may_lose_it():
    assert lost_in_choice({"choice": "drop", "kind": "move", "gone": [GONE], "made": []}) == []
