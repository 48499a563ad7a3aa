"""Programs that start the whole tool as a clinic would, and try what only shows then."""
