"""The whole record of a patient as it was handed out: for whom, why, and its bytes."""

from datetime import timedelta

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from records.patients.models import Patient
from records.whole_record.enums import Purpose, State

MOST_TRIES = 3
GIVEN_UP_AFTER = timedelta(minutes=15)
"""A try that runs for so long was left behind by a worker that was killed."""


class WholeRecordQuerySet(models.QuerySet):
    def to_make(self):
        """Asked for, not made, and not given up."""
        return self.filter(made_at__isnull=True, tries__lt=MOST_TRIES)


class WholeRecord(models.Model):
    """
    One time that somebody asked for the whole record of a patient.

    The worker makes the PDF: `begun_at` is when the latest try began, empty between tries. What was
    asked never changes, and the bytes are never rendered twice. `digest` is the SHA-256 of `pdf`,
    and stands in the audit trail too.
    """

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="whole_records")
    purpose = models.CharField("why", max_length=10, choices=Purpose.choices())
    recipient = models.CharField(
        "handed to", max_length=200, help_text="Who gets it: a name, or a clinic or authority."
    )
    note = models.CharField(
        "what else is to be known", max_length=300, blank=True,
        help_text="Such as the reference of a letter, or how it was seen who asks.",
    )  # fmt: skip
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    begun_at = models.DateTimeField(null=True, editable=False)
    tries = models.PositiveSmallIntegerField(default=0, editable=False)
    made_at = models.DateTimeField(null=True, editable=False)
    pdf = models.BinaryField(null=True)
    digest = models.CharField(max_length=64, blank=True, editable=False)

    objects = WholeRecordQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-asked_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(purpose__in=[purpose.value for purpose in Purpose]),
                name="whole_record_purpose_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(recipient=""),
                name="whole_record_says_to_whom",
                violation_error_message="Say who gets the record.",
            ),
            models.CheckConstraint(
                condition=Q(made_at__isnull=True, pdf__isnull=True, digest="")
                | (Q(made_at__isnull=False, pdf__isnull=False) & ~Q(digest="")),
                name="whole_record_made_with_its_digest",
            ),
        ]
        indexes = [
            models.Index(
                fields=["id"], name="whole_record_to_make", condition=Q(made_at__isnull=True)
            )
        ]

    def __str__(self) -> str:
        return f"Whole record of {self.asked_at:%Y-%m-%d %H:%M}"

    @property
    def state(self) -> State:
        if self.made_at is not None:
            return State.MADE
        is_tried = self.begun_at and self.begun_at > timezone.now() - GIVEN_UP_AFTER
        return State.FAILED if self.tries >= MOST_TRIES and not is_tried else State.WAITING

    @property
    def is_made(self) -> bool:
        return self.state is State.MADE

    @property
    def is_waiting(self) -> bool:
        return self.state is State.WAITING
