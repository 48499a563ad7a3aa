"""Reads of sessions: `points` with totals, `tray`, `flags`, and `lists` that other pages show."""
