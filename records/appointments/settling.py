"""
What a visit can settle belongs to whoever asks for visits: a capability that stands on this one
registers, when the app is ready, how it is looked up, and is told of the visit that was booked.
"""

from collections.abc import Callable
from dataclasses import dataclass

from clinic.audit.services import Trail
from clinic.visit_kinds.enums import AppointmentKind
from records.appointments.models import Appointment
from records.patients.models import Patient

Note = Callable[[Appointment, Trail], None]


@dataclass(frozen=True, slots=True)
class OpenMatter:
    """
    Something of a patient that waits for a visit.

    Attributes:
        key: as the booking form sends it.
        words: what it is, "the review due 12 December 2026".
        kinds: the kinds of visit that settle it.
        hold: locks it inside the act that books, before anybody's time is locked, and answers with
            what notes the visit there. Raises errors.AlreadySettled.
    """

    key: str
    words: str
    kinds: tuple[AppointmentKind, ...]
    hold: Callable[[], Note]


Look = Callable[[Patient], list[OpenMatter]]
_looks: list[Look] = []


def register(look: Look) -> None:
    """`look` gives a patient's open matters, the most likely one first."""
    _looks.append(look)


def open_matters(patient: Patient) -> list[OpenMatter]:
    return [matter for look in _looks for matter in look(patient)]
