"""Reviews: the follow-up that every treatment asks for."""

from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from clinic.review_rules.models import ReviewRule
from records.appointments.models import AGREED, Appointment, start_of
from records.patients.models import Patient
from records.reviews.enums import DateCause, ReviewKind, ReviewOutcome, Standing


class ReviewQuerySet(models.QuerySet):
    def still_open(self):
        return self.filter(closed_at__isnull=True)

    def due_until(self, last: date):
        """Due on `last` or earlier, the oldest first."""
        return self.filter(due_on__lte=last).order_by("due_on", "id")

    def standing(self, standing: Standing, *, on: date):
        """Open ones that stand so on the day `on`; as `standing_on` of the work list has it."""
        return self.filter(standing_is(standing, on=on))

    def not_booked(self, on: date):
        """Without an appointment that still takes place on `on` or later."""
        return self.exclude(booked_from(on))


def booked_from(day: date) -> Q:
    """An appointment that was agreed and still takes place lies on `day` or later."""
    return Q(appointment__starts_at__gte=start_of(day), appointment__state__in=AGREED)


def standing_is(standing: Standing, *, on: date) -> Q:
    """The condition of one standing, as `planning.review_dates.state_on` decides it."""
    booked = booked_from(on)
    return {
        Standing.BOOKED: booked,
        Standing.OVERDUE: ~booked & Q(latest_on__lt=on),
        Standing.DUE: ~booked & Q(due_on__lte=on, latest_on__gte=on),
        Standing.PLANNED: ~booked & Q(due_on__gt=on),
    }[standing]


class Review(models.Model):
    """
    A visit at which the patient is seen again: its day, and the days that suit as well.

    Open until done or excused. Whether it is due or overdue depends on the day one asks, so that
    is computed (`planning.review_dates.state_on`) and not stored. `moved_from` is the closed day
    that the rule names, or the day a person moved it from; how the dates came about is told by
    `ReviewDate`, what asked for it by `ReviewAsk`.
    """

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="reviews")
    # By name: the session schedules its review, so this module knows nothing of sessions.
    session = models.ForeignKey(
        "records.TreatmentSession", on_delete=models.PROTECT, related_name="reviews"
    )
    kind = models.CharField(max_length=10, choices=ReviewKind.choices(), default=ReviewKind.REVIEW)
    earliest_on = models.DateField("not before")
    due_on = models.DateField("due")
    latest_on = models.DateField("overdue after")
    moved_from = models.DateField(null=True, blank=True)
    # As many rules as a session chooses may join in one visit.
    label = models.TextField(blank=True, help_text="What its rules call it.")
    rule = models.TextField(help_text="The rules and sources it came from.")
    appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, null=True, related_name="reviews"
    )
    # Empty for what was booked before this was kept.
    booked_at = models.DateTimeField("noted as booked", null=True, editable=False)
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
            models.CheckConstraint(
                condition=Q(earliest_on__lte=F("due_on"), latest_on__gte=F("due_on")),
                name="review_due_within_window",
            ),
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
            ),
            models.Index(
                fields=["closed_at"], name="review_by_closing",
                condition=Q(closed_at__isnull=False),
            ),
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


class ReviewAsk(models.Model):
    """
    What a review answers: a rule that a session chose, or that an adverse event did.

    Attributes:
        rule: empty for the general rule of the policy.
        event: the adverse event that asked; empty for the treatment itself.
    """

    review = models.ForeignKey(Review, on_delete=models.PROTECT, related_name="asks")
    session = models.ForeignKey(
        "records.TreatmentSession", on_delete=models.PROTECT, related_name="review_asks"
    )
    rule = models.ForeignKey(ReviewRule, on_delete=models.PROTECT, null=True, related_name="asks")
    event = models.ForeignKey(
        "records.AdverseEvent", on_delete=models.PROTECT, null=True, related_name="review_asks"
    )

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(
                fields=["session", "rule"],
                condition=Q(event__isnull=True),
                name="review_ask_once_a_rule",
            ),
            # Two empty rules are no duplicates to the one above.
            models.UniqueConstraint(
                fields=["session"],
                condition=Q(event__isnull=True, rule__isnull=True),
                name="review_ask_once_generally",
            ),
            models.UniqueConstraint(fields=["event"], name="review_ask_once_an_event"),
            models.CheckConstraint(
                condition=Q(event__isnull=True) | Q(rule__isnull=False),
                name="review_ask_event_by_a_rule",
            ),
        ]

    def __str__(self) -> str:
        return f"Review {self.review_id} by {f'rule {self.rule_id}' if self.rule_id else 'policy'}"


class ReviewDate(models.Model):
    """
    The dates of a review as they were from one moment on: who set them, when and why.

    Never changed. The last one holds what the review has. `by` is empty for a command.
    """

    review = models.ForeignKey(Review, on_delete=models.PROTECT, related_name="dates")
    earliest_on = models.DateField("not before")
    due_on = models.DateField("due")
    latest_on = models.DateField("overdue after")
    cause = models.CharField(max_length=12, choices=DateCause.choices())
    reason = models.TextField()
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(earliest_on__lte=F("due_on"), latest_on__gte=F("due_on")),
                name="review_date_within_window",
            ),
            models.CheckConstraint(
                condition=Q(cause__in=[cause.value for cause in DateCause]),
                name="review_date_cause_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(reason=""),
                name="review_date_says_why",
                violation_error_message="Say why the date is changed.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_cause_display()}: {self.due_on}"
