"""Reads of the trace: from a lot to patients, from a patient to lots, and finding the lots."""

from records.trace.queries.lots import find_lot, lots_like, lots_numbered
from records.trace.queries.points import TraceRow, trace_rows, traced_points, units_still_here
from records.trace.queries.reach import (
    ReachedPatient,
    TraceSummary,
    reached_patients,
    trace_summary,
)

__all__ = [
    "ReachedPatient",
    "TraceRow",
    "TraceSummary",
    "find_lot",
    "lots_like",
    "lots_numbered",
    "reached_patients",
    "trace_rows",
    "trace_summary",
    "traced_points",
    "units_still_here",
]
