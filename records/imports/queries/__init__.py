"""Reads of imports: how far they are, what is said of each row, and what came of them."""
