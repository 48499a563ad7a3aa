"""Forms of a session: `sittings` (start), `signing`, `pictures`."""
