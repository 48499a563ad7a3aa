"""Forms of a session: `sittings` (start, note), `points`, `tray`, `signing`."""
