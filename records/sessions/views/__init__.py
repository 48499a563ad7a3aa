"""Pages of sessions: `sittings`, `signing`, and the `panels` others show."""
