"""
What others do when an appointment is booked or lets go of its time: a capability that stands on
this one registers its part when the app is ready.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Self

from django.http import HttpRequest

from clinic.audit.services import Trail
from records.appointments.models import Appointment


@dataclass(frozen=True, slots=True)
class LetGo:
    """
    A time that an appointment held until now.

    Attributes:
        appointment: as it is stored now; a moved one is elsewhere already.
        was_offer: the time had been offered, and nobody was booked.
    """

    appointment: Appointment
    practitioner_id: int
    site_id: int | None
    starts_at: datetime
    minutes: int
    was_offer: bool = False

    @classmethod
    def by(cls, one: Appointment, *, was_offer: bool = False) -> Self:
        """The time that it has now, to be let go."""
        return cls(one, one.practitioner_id, one.site_id, one.starts_at, one.minutes, was_offer)


Booked = Callable[[Appointment, Trail], None]
Freed = Callable[[LetGo, Trail], None]
Told = Callable[[HttpRequest, Appointment], None]

_booked: list[Booked] = []
_freed: list[Freed] = []
_told: list[Told] = []


def register(*, booked: Booked, freed: Freed, told: Told) -> None:
    """
    Args:
        booked, freed: called in the transaction of the act, the appointment's row locked.
        told: called by the page on which somebody let go of a time, to say more about it.
    """
    _booked.append(booked)
    _freed.append(freed)
    _told.append(told)


def was_booked(appointment: Appointment, trail: Trail) -> None:
    for act in _booked:
        act(appointment, trail)


def let_go(time: LetGo, trail: Trail) -> None:
    for act in _freed:
        act(time, trail)


def tell(request: HttpRequest, appointment: Appointment) -> None:
    for act in _told:
        act(request, appointment)
