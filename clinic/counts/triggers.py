"""
What the database itself holds about counts.

- A count that was posted or given up never changes, nor what was seen in it; none is ever removed.
- What was seen is taken back as a whole, never altered.
- Differences are written with the posting, and only grow.
"""

from clinic.database.triggers import append_only, guard, refuse

_COUNT = "clinic_stockcount"
_CLOSED = "the count was posted or given up"


def _closed(row: str) -> str:
    return (
        f"SELECT 1 FROM {_COUNT} c WHERE c.id = {row}.count_id "
        "AND (c.posted_at IS NOT NULL OR c.given_up_at IS NOT NULL)"
    )


def _closed_guards(table: str):
    return tuple(
        guard(f"{table}_closed_{act}", table, f"BEFORE {act.upper()}", _closed(row), _CLOSED)
        for act, row in (("insert", "NEW"), ("update", "OLD"), ("delete", "OLD"))
    )


TRIGGERS = (
    refuse(
        f"{_COUNT}_closed", _COUNT, "BEFORE UPDATE", _CLOSED,
        condition="OLD.posted_at IS NOT NULL OR OLD.given_up_at IS NOT NULL",
    ),
    refuse(
        f"{_COUNT}_as_started", _COUNT, "BEFORE UPDATE", "a count stays of what it was started for",
        condition="OLD.scope <> NEW.scope OR OLD.started_at <> NEW.started_at "
        "OR COALESCE(OLD.place_id, 0) <> COALESCE(NEW.place_id, 0)",
    ),
    refuse(f"{_COUNT}_kept", _COUNT, "BEFORE DELETE", "a count stays in the books"),
    *_closed_guards("clinic_countedunit"),
    refuse(
        "clinic_countedunit_as_seen", "clinic_countedunit", "BEFORE UPDATE",
        "what was seen is taken back or stays",
    ),
    *_closed_guards("clinic_countedextra"),
    guard(
        "clinic_countdifference_with_posting", "clinic_countdifference", "BEFORE INSERT",
        _closed("NEW"), _CLOSED,
    ),
    *append_only("clinic_countdifference"),
)  # fmt: skip
