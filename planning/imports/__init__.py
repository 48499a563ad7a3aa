"""Reading a former record's CSV: letters, separators, which column is which, and single cells."""
