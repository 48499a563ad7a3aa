"""What another tablet did meanwhile, and the server's answer to it."""

from tests.browser.charting.clinic import POINT, said
from tests.browser.charting.tablet import keys

FIRST, _, OTHER = keys(3)


def conflict(op: dict, about: str = "point", **more) -> dict:
    details = {"about": about, "here": "this", "there": "that", "choices": [], **more}
    return said(op, "conflict", "Changed meanwhile.", details)


def amounts(clinic, key: str) -> dict:
    rows = clinic.sessions[key]["points"]
    return {row["key"]: row["amount"] for row in rows if not row["removed"]}


def elsewhere(clinic, key: str, kind: str, data: dict) -> None:
    """Another tablet's act on the same point."""
    head = next(
        (row["head"] for row in clinic.sessions[key]["points"] if row["key"] == FIRST), None
    )
    clinic.settle({"id": OTHER, "session": key, "kind": kind, "base": head, "made_at": "",
                   "sequence": 1, "data": data})  # fmt: skip


def changed_on_two_tablets(tab, clinic, key, refuse) -> dict:
    """Both changed the amount of one point: 350 here, 500 there."""
    clinic.fault = ""
    tab.log(key, FIRST)
    tab.flush()
    clinic.fault = "away"
    op = tab.act("change", key, POINT | {"key": FIRST, "amount": 350})
    elsewhere(clinic, key, "change", POINT | {"key": FIRST, "amount": 500})
    refuse(op, conflict(op))
    assert tab.points(key, "amount", "where") == [[350, "attention"]]
    return op
