"""Reads of results: what became waste, and what a patient got over all sessions."""
