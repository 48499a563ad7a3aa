"""Reads of review records: of one patient, of one treatment, and of many together."""
