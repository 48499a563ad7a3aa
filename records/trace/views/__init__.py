"""Pages of the trace: one lot, a search for lots, and what one patient received."""
