"""Stops that a test makes up."""

from collections.abc import Iterator

from django.utils import timezone

from clinic.policy.queries import current_policy
from planning.vocabulary import ProductKind
from records.gates.registry import Asked, Gate, Keeper
from records.patients.enums import AlertLevel
from records.patients.models import Patient


def stop(key: str = "fake-consent", **fields) -> Gate:
    fields = {
        "level": AlertLevel.STOP, "title": "Consent is missing.", "text": "Ask for it.",
        "source": "Clinic policy", **fields,
    }  # fmt: skip
    return Gate(key=key, **fields)


def for_everybody(*gates: Gate) -> Keeper:
    """Says the same of each patient."""

    def keeper(asked: Asked) -> Iterator[tuple[Patient, Gate]]:
        return ((patient, gate) for patient in asked.kinds for gate in gates)

    return keeper


def said_of(keeper: Keeper, patient: Patient, *kinds: ProductKind, now=None) -> list[Gate]:
    """What one keeper says of one patient, by the clinic's policy, now where no moment is given."""
    asked = Asked({patient: frozenset(kinds)}, now or timezone.now(), current_policy())
    return [gate for _, gate in keeper(asked)]
