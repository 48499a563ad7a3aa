"""
What stands before the needle, by what the patients' plans give.

Here and not with the gates: plans lie above consents, which keep a gate.
"""

from collections.abc import Iterable
from datetime import datetime

from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from records.gates.registry import Asked, Gate, gates
from records.patients.models import Patient
from records.plans.queries.plans import kinds_planned


def gates_of_patients(
    patients: Iterable[Patient], now: datetime, policy: ClinicPolicy | None = None
) -> dict[int, list[Gate]]:
    """
    By patient, what is to be settled before what their plans give is given, the stops first.

    Args:
        now: the moment of the treatment.
        policy: the clinic's, where it was read already.
    """
    patients = list(patients)
    planned = kinds_planned((patient.pk for patient in patients), timezone.localdate(now))
    kinds = {patient: planned.get(patient.pk, frozenset()) for patient in patients}
    return gates(Asked(kinds, now, policy or current_policy()))


def gates_of(patient: Patient, now: datetime) -> list[Gate]:
    """As `gates_of_patients`, of one."""
    return gates_of_patients([patient], now)[patient.pk]
