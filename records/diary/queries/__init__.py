"""Reads of the diary: visits, hours, columns, the board, and what each page shows."""
