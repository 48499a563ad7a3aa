"""Reads of the owner's audit: what was used in a period, and adverse events per lot."""
