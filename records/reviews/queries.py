"""The work list of reviews: who is due, since when, and how to reach them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count

from clinic.policy.queries import current_policy
from planning.review_dates import state_on
from records.appointments.enums import AppointmentState
from records.appointments.models import start_of
from records.patients.enums import Channel
from records.patients.models import Patient
from records.reviews.enums import ReviewKind, Standing
from records.reviews.models import Review, ReviewQuerySet, standing_is

# In the order of OpenReview's fields.
COLUMNS = (
    "id", "kind", "due_on", "rule", "session__started_at", "session__injector__full_name",
    "patient_id", "patient__record_number", "patient__full_name", "patient__phone",
    "patient__email", "patient__preferred_channel", "appointment_id", "appointment__starts_at",
    "appointment__state",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OpenReview:
    """One row of the work list. `days_over` counts from the due date; negative before it."""

    pk: int
    kind: str
    due_on: date
    rule: str
    treated_at: datetime
    injector: str
    patient_id: int
    record_number: str
    patient: str
    phone: str
    email: str
    preferred_channel: str
    appointment_id: int | None
    appointment_at: datetime | None
    appointment_state: str | None
    standing: Standing
    days_over: int

    @property
    def kind_label(self) -> str:
        return ReviewKind(self.kind).label

    @property
    def channel(self) -> Channel:
        return Channel(self.preferred_channel)

    @property
    def contact(self) -> str:
        """Where the patient prefers to be reached; empty when it was not noted."""
        return {Channel.EMAIL: self.email, Channel.LETTER: ""}.get(self.channel, self.phone)

    @property
    def badge(self) -> str:
        return self.standing.value

    @property
    def is_booked(self) -> bool:
        return self.standing is Standing.BOOKED

    @property
    def was_seen(self) -> bool:
        """The appointment at which the review takes place is done; the review is not closed yet."""
        return self.appointment_state == AppointmentState.DONE


def standing_of(
    *,
    due_on: date,
    appointment_at: datetime | None,
    appointment_state: str | None,
    on: date,
    grace_days: int,
) -> Standing:
    """
    Where an open review stands on the day `on`.

    Booked while an appointment that still takes place lies on that day or later, otherwise by the
    dates: due from `due_on` to `grace_days` after it, then overdue.
    """
    holds_time = appointment_state is not None and AppointmentState(appointment_state).takes_place
    if holds_time and appointment_at is not None and appointment_at >= start_of(on):
        return Standing.BOOKED
    latest = date.fromordinal(due_on.toordinal() + grace_days)
    return Standing(state_on(on, target=due_on, latest=latest).value)


def reviews_until(last: date, *, injector_id: int | None = None) -> ReviewQuerySet:
    """Reviews that are open and due on or before `last`, the oldest first (partial index)."""
    reviews = Review.objects.still_open().due_until(last)
    return reviews if injector_id is None else reviews.filter(session__injector_id=injector_id)


def work_rows(reviews: ReviewQuerySet, *, on: date, grace_days: int) -> list[OpenReview]:
    """The rows of `reviews` as they stand on `on`, people and appointment included: one query."""
    rows: Iterable[tuple] = reviews.values_list(*COLUMNS)
    return [
        OpenReview(
            *row,
            standing=standing_of(
                due_on=row[2],
                appointment_at=row[13],
                appointment_state=row[14],
                on=on,
                grace_days=grace_days,
            ),
            days_over=(on - row[2]).days,
        )
        for row in rows
    ]


def open_reviews(on: date, until: date) -> list[OpenReview]:
    """All open reviews due on or before `until` as they stand on `on`, the oldest first."""
    grace_days = current_policy().review_grace_days
    return work_rows(reviews_until(until), on=on, grace_days=grace_days)


def standing_counts(reviews: ReviewQuerySet, *, on: date, grace_days: int) -> dict[str, int]:
    """How many of `reviews` stand how on `on`, in one query."""
    return reviews.order_by().aggregate(
        **{
            standing.value: Count("id", filter=standing_is(standing, on=on, grace_days=grace_days))
            for standing in Standing
        }
    )


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
    """A patient's reviews, the open ones first, each part by due date: two queries."""
    grace_days = current_policy().review_grace_days
    reviews = patient.reviews.select_related("session__injector", "appointment", "closed_by")
    found = [
        PatientReview(review, None if review.closed_at else _standing(review, on, grace_days))
        for review in reviews
    ]
    return sorted(found, key=lambda row: row.standing is None)


def _standing(review: Review, on: date, grace_days: int) -> Standing:
    booked = review.appointment
    return standing_of(
        due_on=review.due_on,
        appointment_at=booked.starts_at if booked else None,
        appointment_state=booked.state if booked else None,
        on=on,
        grace_days=grace_days,
    )
