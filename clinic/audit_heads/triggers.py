"""What was written down of a day stays; a head is mailed once."""

from clinic.database.triggers import never_emptied, refuse

_TABLE = "clinic_dailyhead"
_KEPT = "a head of the audit trail stays as it was written down"
_WRITTEN = ("day", "at", "count", "digest")

TRIGGERS = (
    refuse(
        f"{_TABLE}_as_written", _TABLE, "BEFORE UPDATE", _KEPT,
        condition=" OR ".join(f"OLD.{column} <> NEW.{column}" for column in _WRITTEN),
    ),
    refuse(
        f"{_TABLE}_mailed_once", _TABLE, "BEFORE UPDATE", "a head is mailed once",
        condition="OLD.mailed_at IS NOT NULL",
    ),
    refuse(f"{_TABLE}_kept", _TABLE, "BEFORE DELETE", _KEPT),
    *never_emptied(_TABLE, _KEPT),
)  # fmt: skip
