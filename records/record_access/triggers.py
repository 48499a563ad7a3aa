"""What was found stays as it was found, and is not made open again."""

from clinic.database.triggers import never_emptied, refuse

_TABLE = "records_accessfinding"
_KEPT = "a question about a look at a record stays on record"
_FOUND = (
    "question", "person_id", "day", "key", "reason", "count", "entries", "first_entry",
    "last_entry", "begins_at", "ends_at", "found_at",
)  # fmt: skip

TRIGGERS = (
    refuse(
        f"{_TABLE}_as_found", _TABLE, "BEFORE UPDATE", "what was found stays as it was found",
        condition=" OR ".join(f"OLD.{column} <> NEW.{column}" for column in _FOUND)
        + " OR COALESCE(OLD.patient_id, 0) <> COALESCE(NEW.patient_id, 0)",
    ),
    refuse(
        f"{_TABLE}_not_reopened", _TABLE, "BEFORE UPDATE", "what was answered stays answered",
        condition="OLD.mark <> 'open' AND NEW.mark = 'open'",
    ),
    refuse(f"{_TABLE}_kept", _TABLE, "BEFORE DELETE", _KEPT),
    *never_emptied(_TABLE, _KEPT),
)  # fmt: skip
