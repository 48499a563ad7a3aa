"""Reads of sessions: `points` with totals, `tray`, `flags`, `picture_files`, and `lists`."""
