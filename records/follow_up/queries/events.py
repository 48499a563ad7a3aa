"""Open adverse events that no open review follows, as cases of the follow-up list: two queries."""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from django.db.models import Exists, OuterRef, Q, QuerySet

from clinic.visit_kinds.enums import AppointmentKind
from planning.follow_up import NO_TRIES, Case, Kind, Visit, Way
from planning.review_dates import ReviewState
from records.adverse_events.models import AdverseEvent, AdverseEventQuerySet
from records.appointments.models import Appointment, start_of
from records.follow_up.models import ContactAttempt
from records.follow_up.queries.found import Asked, Found, Person
from records.follow_up.queries.reviews import tries_by
from records.reviews.models import ReviewAsk

SOURCE = "event"
# A visit of such a kind is one at which it is looked at.
SEEN_AT = (AppointmentKind.REVIEW, AppointmentKind.COMPLICATION_CHECK)
_COLUMNS = (
    "pk", "grade", "onset_on", "next_check_on", "patient_id", "patient__record_number",
    "patient__full_name", "patient__phone", "patient__email", "patient__address",
    "patient__preferred_channel", "session__injector_id", "session__injector__full_name",
    "recorded_by_id", "recorded_by__full_name", "is_booked",
)  # fmt: skip


class OpenEvent(NamedTuple):
    """One row as it is read; the names of people are the treating injector's, then the writer's."""

    pk: int
    grade: str
    onset_on: date
    next_check_on: date | None
    patient_id: int
    record_number: str
    patient: str
    phone: str
    email: str
    address: str
    prefers: str
    injector_id: int | None
    injector: str | None
    recorded_by_id: int
    recorded_by: str
    is_booked: bool


def open_events(asked: Asked) -> Iterator[Found]:
    """
    Every open adverse event without an open review of its own.

    One with such a review is on the list by it, from the day on which that is due soon.
    """
    attempts = ContactAttempt.objects.filter(event__isnull=False, event__closed_at__isnull=True)
    tries = tries_by(attempts, "event_id")
    for values in _unfollowed(asked).values_list(*_COLUMNS):
        row = OpenEvent(*values)
        case = Case(
            kind=Kind.COMPLICATION,
            source=SOURCE,
            pk=row.pk,
            state=ReviewState.DUE,
            deadline_on=row.next_check_on or row.onset_on,
            weight=int(row.grade),
            visit=Visit.TO_COME if row.is_booked else Visit.NONE,
            prefers=Way(row.prefers),
            phone=row.phone,
            email=row.email,
            address=row.address,
            tries=tries.get(row.pk, NO_TRIES),
        )
        yield Found(
            case,
            Person(row.patient_id, row.record_number, row.patient),
            row.injector_id or row.recorded_by_id,
            row.injector or row.recorded_by,
            row,
        )


def _unfollowed(asked: Asked) -> QuerySet[AdverseEvent]:
    follows = ReviewAsk.objects.filter(event=OuterRef("pk"), review__closed_at__isnull=True)
    visits = Appointment.objects.agreed().filter(
        patient=OuterRef("patient"), kind__in=SEEN_AT, starts_at__gte=start_of(asked.on)
    )
    events = events_of(asked).still_open().filter(~Exists(follows))
    return events.annotate(is_booked=Exists(visits)).order_by("pk")


def events_of(asked: Asked) -> AdverseEventQuerySet:
    """Of the injector in question: whoever treated, or wrote it down where no session is known."""
    if asked.injector_id is None:
        return AdverseEvent.objects.all()
    return AdverseEvent.objects.filter(
        Q(session__injector=asked.injector_id)
        | Q(session__isnull=True, recorded_by=asked.injector_id)
    )
