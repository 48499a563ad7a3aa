"""Every try to reach a patient about a review or after an adverse event."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from planning.follow_up import TryOutcome, Way
from records.adverse_events.models import AdverseEvent
from records.reviews.models import Review


class ContactAttempt(models.Model):
    """
    One try to reach a patient. Never changed; those of a recall lie with the recall case.

    Attributes:
        again_at: from when on the patient is to be turned to again; a call asked for says when.
        used: the number or address tried, so that a wrong one counts until it is corrected.
    """

    review = models.ForeignKey(Review, on_delete=models.PROTECT, null=True, related_name="attempts")
    event = models.ForeignKey(
        AdverseEvent, on_delete=models.PROTECT, null=True, related_name="attempts"
    )
    way = models.CharField("by", max_length=10, choices=Way.choices())
    outcome = models.CharField(max_length=14, choices=TryOutcome.choices())
    again_at = models.DateTimeField("call again from", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True, help_text="Nothing clinical.")
    used = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(review__isnull=False, event__isnull=True)
                | Q(review__isnull=True, event__isnull=False),
                name="attempt_about_one_thing",
            ),
            models.CheckConstraint(
                condition=Q(way__in=[way.value for way in Way]), name="attempt_way_is_known"
            ),
            models.CheckConstraint(
                condition=Q(outcome__in=[outcome.value for outcome in TryOutcome]),
                name="attempt_outcome_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(outcome=TryOutcome.NO_ANSWER.value) | Q(way=Way.PHONE.value),
                name="attempt_no_answer_by_phone",
            ),
            models.CheckConstraint(
                condition=~Q(outcome=TryOutcome.LATER.value) | Q(again_at__isnull=False),
                name="attempt_later_says_when",
                violation_error_message="Say from when on the patient is to be called again.",
            ),
            models.CheckConstraint(
                condition=~Q(outcome__in=[TryOutcome.REACHED.value, TryOutcome.WRONG.value])
                | Q(again_at__isnull=True),
                name="attempt_settled_names_no_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_way_display()}: {self.words.lower()}"

    @property
    def words(self) -> str:
        """What came of it, as it was pressed."""
        return TryOutcome(self.outcome).words(Way(self.way))
