"""Writes of an import: uploading, reading by columns, taking in, undoing; a batch at a time."""
