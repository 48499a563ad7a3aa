"""Messages that came back and answers that ask for something, as cases of the follow-up list."""

from collections.abc import Iterator

from django.utils import timezone

from planning.follow_up import Case, Kind, Way
from planning.review_dates import ReviewState
from records.follow_up.queries.found import Asked, Found, Person
from records.reminders.queries import to_settle


def came_back(asked: Asked) -> Iterator[Found]:
    """All that the desk has to settle among the messages, as long as it holds; two queries."""
    for row in to_settle(asked.now):
        with_whom, patient = row.practitioner, row.patient
        if asked.injector_id is not None and (
            with_whom is None or with_whom.pk != asked.injector_id
        ):
            continue
        case = Case(
            kind=Kind.RETURNED,
            source=row.source,
            pk=row.pk,
            state=ReviewState.DUE,
            deadline_on=timezone.localdate(row.starts_at or row.at),
            prefers=Way(patient.preferred_channel),
            phone=patient.phone,
            email=patient.email,
            address=patient.address,
        )
        person = Person(patient.pk, patient.record_number, patient.full_name)
        pk, name = (with_whom.pk, with_whom.full_name) if with_whom else (None, "")
        yield Found(case, person, pk, name, row)
