"""How long practitioners worked, day by day."""

from collections.abc import Iterator
from datetime import date, datetime
from typing import NamedTuple

from django.db.models import Q, QuerySet
from django.utils import timezone

from clinic.hours.models import WorkingTime
from clinic.hours.queries import working_spans
from clinic.staff.models import User
from planning.free_slots import moment_of
from records.figures.queries.asked import Asked


class Worked(NamedTuple):
    """A span in which a person saw patients at a site."""

    person_id: int
    site_id: int
    day: date
    minutes: int


def worked(asked: Asked, now: datetime) -> Iterator[Worked]:
    """Every span of the days that are counted, up to `now`."""
    people = {person.pk: person for person in _people(asked)}
    for span in working_spans(list(people.values()), asked.first, asked.last):
        starts_at, ends_at = moment_of(span.start), min(moment_of(span.end), now)
        if starts_at >= people[span.practitioner].date_joined and ends_at > starts_at:
            minutes = int((ends_at - starts_at).total_seconds()) // 60
            yield Worked(span.practitioner, span.site, timezone.localdate(starts_at), minutes)


def _people(asked: Asked) -> QuerySet[User]:
    """
    Who sees patients, from the day they joined on, and of those who left whoever had hours set:
    others would count as working for ever.
    """
    has_hours = WorkingTime.objects.values("person")
    people = User.objects.filter(Q(is_injector=True, is_active=True) | Q(pk__in=has_hours))
    return people.filter(pk=asked.person_id) if asked.person_id else people
