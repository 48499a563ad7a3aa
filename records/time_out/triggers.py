"""A time-out stays as it was done; none is added to a session that is signed or set aside."""

from clinic.database.triggers import append_only, guard

_CHECK = "records_timeoutcheck"

TRIGGERS = (
    *append_only(_CHECK),
    guard(
        f"{_CHECK}_not_closed",
        _CHECK,
        "BEFORE INSERT",
        "SELECT 1 FROM records_treatmentsession s WHERE s.id = NEW.session_id "
        "AND (s.signed_at IS NOT NULL OR s.set_aside_at IS NOT NULL)",
        "the session is signed or set aside",
    ),
)
