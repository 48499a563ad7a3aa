"""
Writes to a session, by subject: `sittings` (start, note), `tray` (units), `points`, `signing`.

Each public function is one act: one transaction that locks the session's row first, then the
unit's, and ends with the audit event.
"""
