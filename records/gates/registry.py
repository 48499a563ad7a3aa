"""
What stands between a patient and the needle.

Consent, screening, photographs and age belong to capabilities of their own: each registers, when
the app is ready, what it has to say before a session is opened and before its first point.
`records.sessions.queries.gates` puts the question.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from clinic.policy.models import ClinicPolicy
from planning.vocabulary import ProductKind
from records.patients.enums import AlertLevel
from records.patients.models import Patient


@dataclass(frozen=True, slots=True)
class Asked:
    """
    One question about everybody who is treated at one moment, so that a keeper reads once for all.

    Attributes:
        kinds: by patient, the kinds of product to be given; empty while nobody knows.
        now: the moment of the treatment; of one that is written down later, when it took place.
    """

    kinds: Mapping[Patient, frozenset[ProductKind]]
    now: datetime
    policy: ClinicPolicy


@dataclass(frozen=True, slots=True)
class Gate:
    """
    One thing to settle first.

    Attributes:
        key: names it for good, "consent-filler"; a decision is kept under it.
        level: a stop shuts the gate, everything else advises.
        title, text: what it is, and what to do now.
        source: who says so: a publication with its year, or the clinic's policy.
        url: where it is settled; "" where there is no page for it.
        can_be_decided: an injector may go on with a reason in writing.
    """

    key: str
    level: AlertLevel
    title: str
    text: str
    source: str
    url: str = ""
    can_be_decided: bool = True

    @property
    def is_stop(self) -> bool:
        return self.level is AlertLevel.STOP


Keeper = Callable[[Asked], Iterable[tuple[Patient, Gate]]]
"""The same number of queries for any number of patients."""
_keepers: list[Keeper] = []
_LEVELS = list(AlertLevel)


def register(*keepers: Keeper) -> None:
    _keepers.extend(keepers)


def gates(asked: Asked) -> dict[int, list[Gate]]:
    """By patient, all that is to be settled, the stops first."""
    found: dict[int, list[Gate]] = {patient.pk: [] for patient in asked.kinds}
    for keeper in _keepers:
        for patient, gate in keeper(asked):
            found[patient.pk].append(gate)
    for own in found.values():
        own.sort(key=lambda gate: _LEVELS.index(gate.level))
    return found
