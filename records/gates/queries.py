"""Reads of what stood and was decided."""

from collections import defaultdict
from collections.abc import Iterable

from records.gates.models import GateDecision


def decisions_of_sessions(sessions: Iterable[int]) -> dict[int, list[GateDecision]]:
    """By session, in their order: one query."""
    found: dict[int, list[GateDecision]] = defaultdict(list)
    rows = GateDecision.objects.filter(session__in=list(sessions)).select_related("decided_by")
    for row in rows.order_by("id"):
        found[row.session_id].append(row)
    return found


def as_they_stand(decisions: Iterable[GateDecision]) -> list[GateDecision]:
    """The latest of each gate: a reason that was given later takes the place of its stop."""
    return list({row.gate: row for row in decisions}.values())
