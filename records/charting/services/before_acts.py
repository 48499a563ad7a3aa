"""What happens on a tablet before the first point: the time-out, and going past a stop."""

from clinic.audit.services import acting
from records.charting.errors import Refused
from records.charting.services.bases import known_base
from records.charting.services.operations import Act
from records.gates.enums import How
from records.gates.registry import Gate
from records.gates.services import Decision, note_decision
from records.patients.enums import AlertLevel
from records.time_out.errors import TimeOutConflict
from records.time_out.services import note_time_out


def time_out(act: Act) -> None:
    known_base(act)
    data = act.op.data
    with acting(act.sender) as trail:
        try:
            note_time_out(
                session=act.session, key=data["key"], answers=data["checks"], at=act.moment,
                by=act.author, trail=trail,
            )  # fmt: skip
        except TimeOutConflict as error:
            raise Refused(str(error)) from error


def decide(act: Act) -> None:
    """Never refused for what it is about: the session has been started."""
    known_base(act)
    data = act.op.data
    gate = Gate(
        key=data["gate"],
        level=AlertLevel.STOP,
        title=data["title"],
        text=data["text"],
        source=data["source"],
        can_be_decided=data["can_be_decided"],
    )
    is_done = data["is_done"] or not gate.can_be_decided
    how = How.AFTERWARDS if is_done else How.GO_ON
    decision = Decision(gate, how, data["reason"], data["key"])
    with acting(act.sender) as trail:
        note_decision(
            session=act.session, decision=decision, by=act.author, at=act.moment, trail=trail
        )
