"""Input of the recall pages."""
