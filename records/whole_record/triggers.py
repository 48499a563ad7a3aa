"""What was asked about a whole record stays, and so do its bytes once it was made."""

from clinic.database.triggers import never_emptied, refuse

_TABLE = "records_wholerecord"
_KEPT = "a whole record that was asked for stays on record"
_ASKED = ("patient_id", "purpose", "recipient", "note", "asked_at", "asked_by_id")

TRIGGERS = (
    refuse(
        f"{_TABLE}_as_asked", _TABLE, "BEFORE UPDATE", "what was asked stays as it was",
        condition=" OR ".join(f"OLD.{column} <> NEW.{column}" for column in _ASKED),
    ),
    refuse(
        f"{_TABLE}_made_once", _TABLE, "BEFORE UPDATE", "a whole record is made once",
        condition="OLD.made_at IS NOT NULL",
    ),
    refuse(f"{_TABLE}_kept", _TABLE, "BEFORE DELETE", _KEPT),
    *never_emptied(_TABLE, _KEPT),
)  # fmt: skip
