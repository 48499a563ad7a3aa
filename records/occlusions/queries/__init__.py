"""Reads of occlusion logs: as pages and sheet show them, and their doses by lot."""

from records.occlusions.queries.doses import doses_of, doses_of_patient
from records.occlusions.queries.logs import (
    ENTRY_FIELDS,
    Injected,
    Line,
    Log,
    dose_text,
    injected_in,
    log_of,
    logs,
    running,
    unit_text,
    words_of,
)

__all__ = [
    "ENTRY_FIELDS",
    "Injected",
    "Line",
    "Log",
    "dose_text",
    "doses_of",
    "doses_of_patient",
    "injected_in",
    "log_of",
    "logs",
    "running",
    "unit_text",
    "words_of",
]
