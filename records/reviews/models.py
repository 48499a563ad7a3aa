"""Reviews: the follow-up that every treatment asks for."""

from datetime import date, timedelta

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from records.appointments.models import HOLDING_TIME, Appointment, start_of
from records.patients.models import Patient
from records.reviews.enums import ReviewKind, ReviewOutcome, Standing


class ReviewQuerySet(models.QuerySet):
    def still_open(self):
        return self.filter(closed_at__isnull=True)

    def due_until(self, last: date):
        """Due on `last` or earlier, the oldest first."""
        return self.filter(due_on__lte=last).order_by("due_on", "id")

    def standing(self, standing: Standing, *, on: date, grace_days: int):
        """Open ones that stand so on the day `on`; as `records.reviews.queries.standing_of`."""
        return self.filter(standing_is(standing, on=on, grace_days=grace_days))

    def not_booked(self, on: date):
        """Without an appointment that still takes place on `on` or later."""
        return self.exclude(booked_from(on))


def booked_from(day: date) -> Q:
    """An appointment that still takes place lies on `day` or later."""
    return Q(appointment__starts_at__gte=start_of(day), appointment__state__in=HOLDING_TIME)


def standing_is(standing: Standing, *, on: date, grace_days: int) -> Q:
    """The condition of one standing, as `planning.review_dates.state_on` decides it."""
    booked = booked_from(on)
    last_without_grace = on - timedelta(days=grace_days)
    return {
        Standing.BOOKED: booked,
        Standing.OVERDUE: ~booked & Q(due_on__lt=last_without_grace),
        Standing.DUE: ~booked & Q(due_on__lte=on, due_on__gte=last_without_grace),
        Standing.PLANNED: ~booked & Q(due_on__gt=on),
    }[standing]


class Review(models.Model):
    """
    A date by which the patient is seen again.

    Open until done or excused. Whether it is due or overdue depends on the day one asks, so that
    is computed (`planning.review_dates.state_on`) and not stored.
    """

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="reviews")
    # By name: the session schedules its review, so this module knows nothing of sessions.
    session = models.ForeignKey(
        "records.TreatmentSession", on_delete=models.PROTECT, related_name="reviews"
    )
    kind = models.CharField(max_length=10, choices=ReviewKind.choices(), default=ReviewKind.REVIEW)
    due_on = models.DateField("due")
    rule = models.CharField(max_length=200, help_text="The rule and source the date came from.")
    appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, null=True, related_name="reviews"
    )
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    outcome = models.CharField(max_length=10, choices=ReviewOutcome.choices(), blank=True)
    excuse = models.CharField(max_length=300, blank=True)

    objects = ReviewQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["due_on", "id"]
        constraints = [
            models.UniqueConstraint(fields=["session", "kind"], name="review_once_per_session"),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True, closed_by__isnull=True, outcome="")
                | Q(closed_at__isnull=False, closed_by__isnull=False)
                & Q(outcome__in=["done", "excused"]),
                name="review_closed_with_outcome",
            ),
            models.CheckConstraint(
                condition=~Q(outcome="excused") | ~Q(excuse=""),
                name="review_excused_with_reason",
                violation_error_message="Say why the review is not needed.",
            ),
        ]
        indexes = [
            models.Index(
                fields=["due_on", "id"], name="review_open_by_due",
                condition=Q(closed_at__isnull=True),
            )
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.get_kind_display()} due {self.due_on}"

    @property
    def closed_today(self) -> bool:
        return self.closed_at is not None and (
            timezone.localdate(self.closed_at) == timezone.localdate()
        )

    @property
    def undo_label(self) -> str:
        """What is pressed to open it again, named after how it was closed."""
        return f"Not {self.get_outcome_display().lower()} after all"
