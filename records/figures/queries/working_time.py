"""How long practitioners worked, day by day."""

from collections.abc import Iterator
from datetime import date, datetime
from typing import NamedTuple

from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.utils import timezone

from clinic.hours.models import WorkingTime
from clinic.hours.queries import working_spans
from clinic.staff.models import User
from planning.free_slots import moment_of
from records.appointments.models import Appointment
from records.figures.queries.asked import Asked


class Worked(NamedTuple):
    """A span in which a person saw patients at a site."""

    person_id: int
    site_id: int
    day: date
    minutes: int


def worked(asked: Asked, now: datetime) -> Iterator[Worked]:
    """Every span of the days that are counted, up to `now`, since the person came to the clinic."""
    zone = timezone.get_current_timezone()
    people = {person.pk: person for person in _people(asked)}
    since = {pk: _came_at(person) for pk, person in people.items()}
    for span in working_spans(list(people.values()), asked.first, asked.last):
        starts_at, ends_at = moment_of(span.start), min(moment_of(span.end), now)
        if since[span.practitioner] <= ends_at and starts_at < ends_at:
            minutes = int((ends_at - starts_at).total_seconds()) // 60
            yield Worked(span.practitioner, span.site, starts_at.astimezone(zone).date(), minutes)


def _came_at(person: User) -> datetime:
    """When the person was added, or had a first visit to write down afterwards."""
    first_visit = person.first_visit  # type: ignore[attr-defined]
    return min(person.date_joined, first_visit) if first_visit else person.date_joined


def _people(asked: Asked) -> QuerySet[User]:
    """
    Who sees patients, with `first_visit`, and of those who left whoever had hours set: others would
    count as working for ever.
    """
    visits = Appointment.objects.filter(practitioner=OuterRef("pk")).order_by("starts_at")
    has_hours = WorkingTime.objects.values("person")
    people = User.objects.filter(
        Q(is_injector=True, is_active=True) | Q(pk__in=has_hours)
    ).annotate(first_visit=Subquery(visits.values("starts_at")[:1]))
    return people.filter(pk=asked.person_id) if asked.person_id else people
