"""Writes of counts: `counting` what is seen, `scanning` by code, `posting` what it comes to."""
