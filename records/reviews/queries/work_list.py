"""
The work list of reviews: who is due, since when, and how to reach them.

The statement is the ORM's and is kept for the day, and its rows are taken as the driver gives
them: for fifty rows, writing it anew takes longer than running it (`make bench`).
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import NamedTuple

from django.db import connection
from django.db.models import Count
from django.utils import timezone

from clinic.database.expressions import EpochSeconds
from planning.review_dates import ReviewState, state_on
from records.appointments.enums import AppointmentState
from records.appointments.models import AGREED, Appointment, start_of
from records.patients.models import Patient
from records.reviews.enums import Standing
from records.reviews.models import Review, ReviewQuerySet, standing_is

KEPT_STATEMENTS = 256
_STANDINGS = {state: Standing(state.value) for state in ReviewState}
# In the order of OpenReview's fields.
_COLUMNS = (
    "id", "kind", "earliest_on", "due_on", "latest_on", "moved_from", "label", "rule",
    "treated_seconds", "session__injector_id", "session__injector__full_name",
    "patient_id", "patient__record_number", "patient__full_name", "patient__phone",
    "patient__email", "patient__address", "patient__preferred_channel", "appointment_id",
    "appointment__state", "appointment__starts_at", "patient__agrees_to_sms",
    "patient__agrees_to_email",
)  # fmt: skip


class OpenReview(NamedTuple):
    """One row of the work list. `days_due` counts from the due date; negative before it."""

    pk: int
    kind: str
    earliest_on: date
    due_on: date
    latest_on: date
    moved_from: date | None
    label: str
    rule: str
    treated_seconds: int
    injector_id: int
    injector: str
    patient_id: int
    record_number: str
    patient: str
    phone: str
    email: str
    address: str
    preferred_channel: str
    appointment_id: int | None
    appointment_state: str | None
    appointment_at: datetime | None
    agrees_to_sms: bool
    agrees_to_email: bool
    standing: Standing
    days_due: int

    @property
    def treated_at(self) -> datetime:
        return datetime.fromtimestamp(self.treated_seconds, UTC)

    @property
    def days_late(self) -> int:
        """Days since the last one that suits; negative before it."""
        return self.days_due - (self.latest_on - self.due_on).days

    @property
    def interval(self) -> str:
        """How long after the session it falls due, "14 days"; the whole rule if it names none."""
        return self.rule.partition(" after the session")[0]

    @property
    def is_booked(self) -> bool:
        return self.standing is Standing.BOOKED


def standing_on(
    on: date,
) -> Callable[[date, date, str | None, datetime | None], Standing]:
    """
    A function of due and latest date, appointment's state and start: how an open review stands on
    `on`.

    Booked while an appointment that still takes place lies on that day or later, otherwise by the
    dates: due from the due date to the latest one, then overdue.
    """
    midnight = start_of(on)

    def standing(
        due_on: date, latest_on: date, state: str | None, starts_at: datetime | None
    ) -> Standing:
        if starts_at is not None and state in AGREED and starts_at >= midnight:
            return Standing.BOOKED
        return _STANDINGS[state_on(on, target=due_on, latest=latest_on)]

    return standing


@dataclass(frozen=True, slots=True)
class WorkList:
    """
    Open reviews due on or before `until` as they stand on `on`, the oldest first.

    Attributes:
        injector_id: whose treatments; None for all.
        standing: only those that stand so; None for all.
    """

    on: date
    until: date
    injector_id: int | None = None
    standing: Standing | None = None

    def reviews(self) -> ReviewQuerySet:
        """As a queryset; it reads the partial index of open reviews."""
        reviews = Review.objects.still_open().due_until(self.until)
        if self.injector_id is not None:
            reviews = reviews.filter(session__injector_id=self.injector_id)
        if self.standing is not None:
            reviews = reviews.standing(self.standing, on=self.on)
        return reviews

    def count(self) -> int:
        return self.reviews().count()

    def counts(self) -> dict[str, int]:
        """How many stand how, in one query."""
        conditions = {term.value: standing_is(term, on=self.on) for term in Standing}
        return (
            self.reviews()
            .order_by()
            .aggregate(**{name: Count("id", filter=test) for name, test in conditions.items()})
        )

    def __getitem__(self, part: slice) -> list[OpenReview]:
        """Some of the rows, people and appointment included, in one query."""
        start, stop = part.start or 0, part.stop
        if stop is not None and stop <= start:
            return []
        statement, parameters = _statement(self, start, stop)
        with connection.cursor() as cursor:
            cursor.execute(statement, parameters)
            rows = cursor.fetchall()
        standing = standing_on(self.on)
        return [
            OpenReview._make(
                [
                    *row[:20],
                    starts_at := row[20] and _aware(row[20]), bool(row[21]), bool(row[22]),
                    standing(row[3], row[4], row[19], starts_at),
                    (self.on - row[3]).days,
                ]
            )
            for row in rows
        ]  # fmt: skip


@lru_cache(maxsize=KEPT_STATEMENTS)
def _statement(work: WorkList, start: int, stop: int | None) -> tuple[str, tuple]:
    """SQL and parameters of a part of the list; asked again and again on the same day."""
    reviews = work.reviews().annotate(treated_seconds=EpochSeconds("session__started_at"))
    return reviews[start:stop].values_list(*_COLUMNS).query.sql_with_params()


def _aware(stored: datetime) -> datetime:
    """The driver of SQLite leaves out that the stored time is UTC."""
    return stored if stored.tzinfo else stored.replace(tzinfo=UTC)


def open_reviews(on: date, until: date) -> list[OpenReview]:
    """All open reviews due on or before `until` as they stand on `on`, the oldest first."""
    return WorkList(on, until)[:]


def seen_since_treatment(review: Review) -> bool:
    """
    Whether the patient was here after the day of the treatment that asks for the review.

    An appointment that the patient came to counts, and so does a session without an appointment.
    """
    treated = review.session.started_at
    following = start_of(timezone.localdate(treated) + timedelta(days=1))
    visits = Appointment.objects.filter(
        patient=review.patient_id,
        starts_at__gte=following,
        state__in=[AppointmentState.ARRIVED, AppointmentState.DONE],
    )
    # By its reverse name: this module knows nothing of sessions.
    sessions = review.patient.sessions.standing().filter(started_at__gte=following)
    return visits.exists() or sessions.exists()


@dataclass(frozen=True, slots=True)
class PatientReview:
    """A review on its patient's page; `standing` is None once it is closed."""

    review: Review
    standing: Standing | None

    @property
    def label(self) -> str:
        return self.standing.label if self.standing else self.review.get_outcome_display()

    @property
    def badge(self) -> str:
        return self.standing.value if self.standing else self.review.outcome

    @property
    def is_booked(self) -> bool:
        return self.standing is Standing.BOOKED

    @property
    def was_seen(self) -> bool:
        appointment = self.review.appointment
        return appointment is not None and appointment.state == AppointmentState.DONE


def patient_reviews(patient: Patient, *, on: date) -> list[PatientReview]:
    """A patient's reviews, the open ones first, each part by due date: one query."""
    reviews = patient.reviews.select_related("session__injector", "appointment", "closed_by")
    found = [patient_review(review, on=on) for review in reviews]
    return sorted(found, key=lambda row: row.standing is None)


def patient_review(review: Review, *, on: date) -> PatientReview:
    """One of them as it stands on that day."""
    if review.closed_at:
        return PatientReview(review, None)
    booked = review.appointment
    held = (booked.state, booked.starts_at) if booked else (None, None)
    return PatientReview(review, standing_on(on)(review.due_on, review.latest_on, *held))
