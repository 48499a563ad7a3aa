"""A quarantine is lifted once and otherwise stays as it was placed."""

from clinic.database.triggers import never_emptied, refuse

_TABLE = "clinic_quarantine"
_KEPT = "a quarantine stays in the books"
_SAID = (
    "product_id", "lot_first", "lot_last", "serial_first", "serial_last", "reason", "placed_at",
    "placed_by_id",
)  # fmt: skip

TRIGGERS = (
    refuse(
        f"{_TABLE}_lifted_once", _TABLE, "BEFORE UPDATE", "the quarantine was lifted",
        condition="OLD.lifted_at IS NOT NULL",
    ),
    refuse(
        f"{_TABLE}_as_placed", _TABLE, "BEFORE UPDATE", "a quarantine stays as it was placed",
        condition=" OR ".join(f"OLD.{column} <> NEW.{column}" for column in _SAID),
    ),
    refuse(f"{_TABLE}_kept", _TABLE, "BEFORE DELETE", _KEPT),
    *never_emptied(_TABLE, _KEPT),
)  # fmt: skip
