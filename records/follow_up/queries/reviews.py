"""Open reviews as cases of the follow-up list: five queries, however many there are."""

from collections.abc import Iterator
from datetime import datetime

from django.db.models import QuerySet
from django.utils import timezone

from planning.follow_up import NO_TRIES, Case, Kind, Tries, Try, TryOutcome, Visit, Way
from planning.review_dates import state_on
from records.appointments.enums import AppointmentState
from records.follow_up.models import ContactAttempt
from records.follow_up.queries.found import Asked, Found, Person, folded_by_key
from records.reminders.enums import MessageState
from records.reminders.models import Message
from records.reminders.queries import reach, reminder_policy
from records.reviews.models import ReviewAsk
from records.reviews.queries.work_list import OpenReview, WorkList

SOURCE = "review"
# Made once: a list asks hundreds of reviews.
_KINDS = {kind.value: kind for kind in Kind}
_WAYS = {way.value: way for way in Way}
_WRITTEN = frozenset({Way.SMS.value, Way.EMAIL.value})
_TRY = ("way", "outcome", "at", "again_at", "used")


def open_reviews(asked: Asked) -> Iterator[Found]:
    """Every open review due until then; one that an open adverse event asks for comes first."""
    rows = WorkList(asked.on, asked.until, injector_id=asked.injector_id)[:]
    tries, grades = _tries(asked), _grades_of_open_events()
    sends, invitations = reminder_policy().is_on, _invitations(asked)
    for row in rows:
        invitation = invitations.get(row.pk, "")
        case = Case(
            kind=_KINDS[row.kind] if row.pk not in grades else Kind.COMPLICATION,
            source=SOURCE,
            pk=row.pk,
            state=state_on(asked.on, target=row.due_on, latest=row.latest_on),
            deadline_on=row.latest_on,
            weight=grades.get(row.pk, 0),
            visit=_visit(row),
            prefers=_WAYS[row.preferred_channel],
            phone=row.phone,
            email=row.email,
            address=row.address,
            tries=tries.get(row.pk, NO_TRIES),
            may_send=sends and _goes_as_preferred(row),
            is_sent=bool(invitation),
        )
        person = Person(row.patient_id, row.record_number, row.patient)
        yield Found(case, person, row.injector_id, row.injector, row, invitation)


def _goes_as_preferred(row: OpenReview) -> bool:
    """Whether the patient agreed to be written to the way they prefer, and can be."""
    return row.preferred_channel in _WRITTEN and reach(row).route.value == row.preferred_channel


def _invitations(asked: Asked) -> dict[int, str]:
    """What became of the latest invitation to each review, in words."""
    rows = (
        Message.objects.filter(review__closed_at__isnull=True, review__due_on__lte=asked.until)
        .exclude(state=MessageState.WITHDRAWN)
        .order_by("pk")
        .values_list("review_id", "state", "at", "written_at")
    )
    return {
        review: _told(MessageState(state), at or written) for review, state, at, written in rows
    }


def _told(state: MessageState, at: datetime) -> str:
    local = timezone.localtime(at)
    return f"invitation {state.label.lower()} {local.day} {local:%b}, {local:%H:%M}"


def _visit(row: OpenReview) -> Visit:
    if row.appointment_state == AppointmentState.DONE:
        return Visit.SEEN
    if row.is_booked:
        return Visit.TO_COME
    state = row.appointment_state
    return Visit.UNSAID if state and AppointmentState(state).is_to_come else Visit.NONE


def _tries(asked: Asked) -> dict[int, Tries]:
    attempts = ContactAttempt.objects.filter(
        review__closed_at__isnull=True, review__due_on__lte=asked.until
    )
    return tries_by(attempts, "review_id")


def tries_by(attempts: QuerySet[ContactAttempt], key: str) -> dict[int, Tries]:
    """The tries among the attempts, by what they were about."""
    rows = attempts.order_by("id").values_list(key, *_TRY)
    return folded_by_key((row[0], Try(Way(row[1]), TryOutcome(row[2]), *row[3:])) for row in rows)


def _grades_of_open_events() -> dict[int, int]:
    """The grade of the worst open adverse event that a review answers, by the review's id."""
    rows = ReviewAsk.objects.filter(
        event__closed_at__isnull=True, event__isnull=False, review__closed_at__isnull=True
    ).values_list("review_id", "event__grade")
    grades: dict[int, int] = {}
    for review, grade in rows:
        grades[review] = max(grades.get(review, 0), int(grade))
    return grades
