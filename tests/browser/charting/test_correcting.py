"""What is done by hand to a point that was refused is the decision about it."""

import pytest

from tests.browser.charting.clinic import POINT
from tests.browser.charting.meeting import amounts, changed_on_two_tablets
from tests.browser.charting.tablet import keys

pytestmark = pytest.mark.django_db(transaction=True)
(FIRST,) = keys(1)


def by_hand(tab, clinic, kind: str, key: str, data: dict) -> dict:
    clinic.fault = ""
    op = tab.act(kind, key, data)
    tab.flush()
    return op


def moved(x: int, y: int) -> dict:
    return {"key": FIRST, "x_dmm": x, "y_dmm": y, "reach_x_dmm": None, "reach_y_dmm": None}


def test_refused_point_corrected_by_hand_goes_with_its_move_as_one(tab, clinic, key, refuse):
    op = tab.log(key, FIRST, amount=5000)
    tab.act("move", key, moved(1, 2))
    refuse(op)
    sent = by_hand(tab, clinic, "change", key, {"key": FIRST, "amount": 300})
    assert (sent["kind"], sent["instead_of"]) == ("log", op["id"])
    assert (tab.waits(), amounts(clinic, key)) == ([], {FIRST: 300})
    assert tab.points(key, "x_dmm", "amount", "where") == [[1, 300, "clinic"]]
    assert clinic.kinds().count("move") == 0


def refused_change(tab, clinic, key, refuse) -> dict:
    clinic.fault = ""
    tab.log(key, FIRST)
    tab.flush()
    return refuse(tab.act("change", key, POINT | {"key": FIRST, "amount": 5000}))


def test_refused_change_corrected_by_hand_or_undone_is_decided(tab, clinic, key, refuse):
    refused_change(tab, clinic, key, refuse)
    by_hand(tab, clinic, "change", key, {"key": FIRST, "amount": 300})
    assert (tab.waits(), amounts(clinic, key)) == ([], {FIRST: 300})
    refuse(tab.act("change", key, {"key": FIRST, "amount": 6000}))
    clinic.fault = ""
    tab.run("async (key) => { app.undo(key); await app.queue.write(); await app.flush(); }", key)
    assert (tab.waits(), amounts(clinic, key)) == ([], {FIRST: 300})


def test_point_whose_change_was_refused_is_removed(tab, clinic, key, refuse):
    refused_change(tab, clinic, key, refuse)
    by_hand(tab, clinic, "remove", key, {"key": FIRST})
    assert (tab.waits(), amounts(clinic, key)) == ([], {})


def test_hand_does_not_decide_between_two_versions(tab, clinic, key, refuse, settle):
    op = changed_on_two_tablets(tab, clinic, key, refuse)
    by_hand(tab, clinic, "change", key, {"key": FIRST, "amount": 300})
    assert tab.waits() == [["change", "conflict"], ["change", "tablet"]]
    settle(op, "again")
    assert (tab.waits(), amounts(clinic, key)) == ([], {FIRST: 300})
