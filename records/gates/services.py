"""Deciding about stops before a session, and keeping what was decided."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from clinic.audit.services import Trail, snapshot
from records.gates.enums import How
from records.gates.errors import GateShut, ReasonMissing
from records.gates.models import GateDecision
from records.gates.registry import Gate

DECISION_FIELDS = ["session", "gate", "title", "source", "how", "reason"]


@dataclass(frozen=True)
class Decision:
    """
    What was decided about one stop.

    Attributes:
        reason: in writing; "" only of a stop that merely stood.
        key: made where it was decided.
    """

    gate: Gate
    how: How
    reason: str = ""
    key: uuid.UUID = field(default_factory=uuid.uuid4)


def decide(stops: Iterable[Gate], *, reason: str, is_done: bool) -> list[Decision]:
    """
    One written reason for all that stands in the way.

    Args:
        is_done: the treatment has taken place already, so that nothing can shut it out any more.

    Raises:
        GateShut: one of them is not the injector's to decide, and nothing has been done yet.
        ReasonMissing: nobody said why.
    """
    stops, reason = list(stops), reason.strip()
    shut = [gate for gate in stops if not gate.can_be_decided]
    if shut and not is_done:
        raise GateShut(f"{shut[0].title} Nobody can decide to go on. {shut[0].text}".strip())
    if stops and not reason:
        raise ReasonMissing(
            "Write down why it was done all the same."
            if is_done
            else "Settle what stops the start, or write down why you go on."
        )
    how = How.AFTERWARDS if is_done else How.GO_ON
    return [Decision(gate, how, reason) for gate in stops]


def note_decision(*, session, decision: Decision, by, at: datetime, trail: Trail) -> GateDecision:
    """
    Keep one decision, or the stop that stood, with the session; the same key twice is one row. The
    caller holds the session's lock.
    """
    if stored := GateDecision.objects.filter(key=decision.key).first():
        return stored
    gate = decision.gate
    row = GateDecision.objects.create(
        key=decision.key,
        patient_id=session.patient_id,
        session_id=session.pk,
        gate=gate.key,
        title=gate.title,
        text=gate.text,
        source=gate.source,
        can_be_decided=gate.can_be_decided,
        how=decision.how,
        reason=decision.reason,
        decided_by=by,
        decided_at=at,
    )
    after = snapshot(row, DECISION_FIELDS)
    trail.add("gate.noted", row, patient_id=row.patient_id, after=after)
    return row


def note_start(
    *, session, stops: Iterable[Gate], decisions: Iterable[Decision], by, at: datetime, trail: Trail
) -> None:
    """
    With a session that is being started, what was decided, and what stood without a decision: a
    tablet without network may have known nothing of it.
    """
    decisions = list(decisions)
    decided = {decision.gate.key for decision in decisions}
    stood = [Decision(gate, How.STOOD) for gate in stops if gate.key not in decided]
    for decision in [*decisions, *stood]:
        note_decision(session=session, decision=decision, by=by, at=at, trail=trail)
