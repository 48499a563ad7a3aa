"""An offer is answered once, and stays as it was made and answered."""

from clinic.database.triggers import never_emptied, refuse

_TABLE = "records_offer"
_KEPT = "an offer stays in the record"

TRIGGERS = (
    refuse(
        f"{_TABLE}_answered_once", _TABLE, "BEFORE UPDATE", "the offer was answered",
        condition="OLD.answered_at IS NOT NULL",
    ),
    refuse(
        f"{_TABLE}_as_made", _TABLE, "BEFORE UPDATE", "an offer stays as it was made",
        condition=" OR ".join(
            f"OLD.{column} <> NEW.{column}"
            for column in ("entry_id", "freed_id", "appointment_id", "offered_at")
        ),
    ),
    refuse(f"{_TABLE}_kept", _TABLE, "BEFORE DELETE", _KEPT),
    *never_emptied(_TABLE, _KEPT),
)  # fmt: skip
