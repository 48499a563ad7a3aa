"""What went wrong after a treatment, and what became of it."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.stock.models import Lot
from planning.atlas.regions import Region
from planning.vocabulary import Side
from records.adverse_events.enums import EventOutcome, Grade
from records.patients.models import Patient
from records.sessions.models import TreatmentSession


class AdverseEventQuerySet(models.QuerySet):
    def still_open(self):
        return self.filter(closed_at__isnull=True)


class AdverseEvent(models.Model):
    """
    One adverse event of one patient, open until somebody closes it.

    `lot` is the one suspected, empty when none is. Whether it was the cause is not said here.
    """

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="adverse_events")
    session = models.ForeignKey(
        TreatmentSession, on_delete=models.PROTECT, null=True, blank=True,
        related_name="adverse_events",
    )  # fmt: skip
    lot = models.ForeignKey(
        Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="adverse_events",
        verbose_name="suspected lot",
    )  # fmt: skip
    region = models.CharField(max_length=40, blank=True)
    side = models.CharField(max_length=10, choices=Side.choices(), blank=True)
    onset_on = models.DateField("first signs")
    grade = models.CharField(max_length=1, choices=Grade.choices())
    signs = models.TextField(help_text="What was seen and felt, in plain words.")
    actions = models.TextField(blank=True, help_text="What was done about it.")
    outcome = models.CharField(
        max_length=20, choices=EventOutcome.choices(), default=EventOutcome.ONGOING
    )
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, editable=False)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip

    objects = AdverseEventQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-onset_on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(grade__in=[grade.value for grade in Grade]),
                name="adverse_event_grade_is_known",
            ),
            models.CheckConstraint(
                condition=Q(outcome__in=[outcome.value for outcome in EventOutcome]),
                name="adverse_event_outcome_is_known",
            ),
            models.CheckConstraint(condition=~Q(signs=""), name="adverse_event_has_signs"),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True, closed_by__isnull=True)
                | Q(closed_at__isnull=False, closed_by__isnull=False)
                & ~Q(outcome__in=["ongoing", "recovering"]),
                name="adverse_event_closed_with_outcome",
                violation_error_message="Say how it ended before you close it.",
            ),
        ]

    def __str__(self) -> str:
        return f"Adverse event of {self.onset_on}"

    @property
    def is_closed(self) -> bool:
        return self.closed_at is not None

    @property
    def place(self) -> str:
        """ "Zygomatic region, left", or "" where none was noted."""
        named = [Region(self.region).label] if self.region else []
        return ", ".join([*named, *([Side(self.side).label.lower()] if self.side else [])])
