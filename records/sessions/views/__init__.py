"""Pages of sessions: `sittings`, `points`, `tray`, `signing`, and the `panels` others show."""
