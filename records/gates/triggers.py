"""A stop and its decision stay as they were written; none is added to a signed session."""

from clinic.database.triggers import append_only, guard

_DECISION = "records_gatedecision"

TRIGGERS = (
    *append_only(_DECISION),
    guard(
        f"{_DECISION}_not_signed",
        _DECISION,
        "BEFORE INSERT",
        "SELECT 1 FROM records_treatmentsession s WHERE s.id = NEW.session_id "
        "AND s.signed_at IS NOT NULL",
        "the session is signed",
    ),
)
