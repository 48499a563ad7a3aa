"""What appointments and absences take of people and rooms, to look for free times beside it."""

from collections.abc import Iterable
from datetime import timedelta

from django.db.models import Q
from django.utils import timezone

from clinic.database.expressions import EpochSeconds
from clinic.hours.queries import rooms_away
from clinic.rooms.models import Room
from clinic.staff.models import User
from clinic.visit_kinds.models import LONGEST_BUFFER_MINUTES, LONGEST_MINUTES
from planning.free_slots import Span, moment_of
from records.appointments.models import Appointment, cells_at
from records.patients.models import Patient

_COLUMNS = (
    "practitioner_id", "room_id", "patient_id",
    EpochSeconds("starts_at"), "minutes", "preparation_minutes", "buffer_minutes",
)  # fmt: skip
# What starts so long before a time, or after it, can still hold it.
_HELD_BEFORE = timedelta(minutes=LONGEST_MINUTES + LONGEST_BUFFER_MINUTES)
_HELD_AFTER = timedelta(minutes=LONGEST_BUFFER_MINUTES)

Taken = tuple[dict[int, list[Span]], dict[int, list[Span]], list[Span]]
"""By the id of the practitioner, by that of the room, and of the patient."""


def taken(
    people: Iterable[User],
    rooms: Iterable[Room],
    needed: Span,
    *,
    patient: Patient | None = None,
    moving: Appointment | None = None,
) -> Taken:
    """
    What is taken of practitioners, of rooms, of the patient, in the cells that are needed or beside
    them: two queries.

    Args:
        moving: the appointment that is moved and makes room for itself.
    """
    by_person: dict[int, list[Span]] = {}
    first, last = moment_of(needed[0]), moment_of(needed[1])
    days = timezone.localdate(first), timezone.localdate(last)
    by_room = {key: list(spans) for key, spans in rooms_away(rooms, *days).items()}
    by_patient: list[Span] = []
    about = Q(practitioner__in=people) | Q(room__in=rooms)
    if patient is not None:
        about |= Q(patient=patient)
    visits = Appointment.objects.taking_place().filter(
        about, starts_at__gt=first - _HELD_BEFORE, starts_at__lt=last + _HELD_AFTER
    )
    visits = visits.exclude(held_until__lte=timezone.now())
    if moving is not None:
        visits = visits.exclude(pk=moving.pk)
    own = patient.pk if patient is not None else None
    # As plain values: a busy clinic has thousands of them in a fortnight.
    for practitioner, room, whose, *when in visits.values_list(*_COLUMNS):
        whole, visit = cells_at(*when)
        by_person.setdefault(practitioner, []).append((whole.start, whole.stop))
        if room is not None:
            by_room.setdefault(room, []).append((whole.start, whole.stop))
        if whose == own:
            by_patient.append((visit.start, visit.stop))
    return by_person, by_room, by_patient
