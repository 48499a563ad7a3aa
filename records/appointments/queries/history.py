"""What was done to an appointment."""

from dataclasses import dataclass
from datetime import datetime

from clinic.audit.queries import changes_of
from clinic.audit.wording import NOTHING, Change, told
from records.appointments.models import Appointment

LONGEST = 100
_EMPTY = {NOTHING, "0"}


@dataclass(frozen=True, slots=True)
class Step:
    """One act, with the fields that say something; the patient is on the page already."""

    at: datetime
    what: str
    who: str
    reason: str
    changes: list[Change]


def history_of(appointment: Appointment) -> list[Step]:
    """The acts on an appointment, the latest first, at most LONGEST."""
    return [
        Step(
            at=one.event.at,
            what=one.what,
            who=one.who,
            reason=one.reason,
            changes=[change for change in one.changes if _says_something(change)],
        )
        for one in told(changes_of(appointment)[:LONGEST])
    ]


def _says_something(change: Change) -> bool:
    return change.label != "Patient" and not {change.before, change.after} <= _EMPTY
