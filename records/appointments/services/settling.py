"""Booking a visit together with what it settles."""

from collections.abc import Callable, Iterable

from clinic.audit.services import acting
from records.appointments.models import Appointment
from records.appointments.settling import OpenMatter


def book_settling(
    *, matters: Iterable[OpenMatter], book: Callable[[], Appointment], actor
) -> Appointment:
    """
    Book by `book`, an act of `actor`, and note the visit with what it settles: all or nothing.

    Raises:
        AlreadySettled: a colleague booked or closed one of the matters meanwhile.
        TimeTaken, and what else `book` raises.
    """
    chosen = sorted(matters, key=lambda matter: matter.key)
    if not chosen:
        return book()
    with acting(actor) as trail:
        # In one order, and before people and rooms, as those do who book from the matter itself.
        notes = [matter.hold() for matter in chosen]
        appointment = book()
        for note in notes:
            note(appointment, trail)
    return appointment
