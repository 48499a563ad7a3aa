"""Which units to open for a plan, and what each of them is for."""
