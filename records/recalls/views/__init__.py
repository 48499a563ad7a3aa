"""The recall pages, for the practice owner."""
