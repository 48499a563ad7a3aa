"""The clinic's own protocol for a blocked vessel, in versions that stay as they were saved."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from planning.occlusion import (
    LEAST_REASSESS_MINUTES,
    MOST_REASSESS_MINUTES,
    REASSESS_MINUTES,
)


class Protocol(models.Model):
    """
    One version, with whom to call. Saving makes the next one; none is ever changed.

    Before the first, the supplied steps hold (`clinic.protocols.queries.current_protocol`).
    """

    number = models.PositiveIntegerField(unique=True)
    saved_at = models.DateTimeField()
    saved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    emergency_number = models.CharField(
        "emergency services", max_length=40, blank=True, help_text="Such as 112, 999 or 911."
    )
    eye_contact = models.CharField(
        "eye emergency", max_length=200, blank=True,
        help_text="The eye department on call: name and number.",
    )  # fmt: skip
    help_contact = models.CharField(
        "a colleague to ask", max_length=200, blank=True,
        help_text="Who can be asked for advice at any time: name and number.",
    )  # fmt: skip
    what_to_say = models.TextField(
        blank=True,
        max_length=1_000,
        help_text="What is said on the telephone: where the clinic is, how the ambulance gets in.",
    )
    reassess_minutes = models.PositiveSmallIntegerField(
        "look again after",
        default=REASSESS_MINUTES,
        validators=[
            MinValueValidator(LEAST_REASSESS_MINUTES),
            MaxValueValidator(MOST_REASSESS_MINUTES),
        ],
        help_text="Minutes after a dose, 15 to 60. Hourly: DeLorenzi, Aesthet Surg J 2017.",
    )

    class Meta:
        app_label = "clinic"
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    reassess_minutes__range=(LEAST_REASSESS_MINUTES, MOST_REASSESS_MINUTES)
                ),
                name="protocol_looks_again_in_time",
            ),
        ]

    def __str__(self) -> str:
        return f"Version {self.number}"


class ProtocolStep(models.Model):
    """One step of a version, in its place."""

    protocol = models.ForeignKey(Protocol, on_delete=models.PROTECT, related_name="steps")
    position = models.PositiveSmallIntegerField()
    title = models.CharField(max_length=120)
    text = models.TextField(blank=True, max_length=1_000)
    source = models.CharField(max_length=300)

    class Meta:
        app_label = "clinic"
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["protocol", "position"], name="protocol_step_one_a_place"
            ),
            models.CheckConstraint(
                condition=~Q(title="") & ~Q(source=""), name="protocol_step_says_what_and_whence"
            ),
        ]

    def __str__(self) -> str:
        return self.title
