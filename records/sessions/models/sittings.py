"""The sitting itself."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from planning.vocabulary import Jaw
from records.appointments.models import Appointment
from records.patients.models import Patient

# Tenths of a millimetre. From a small child to beyond the largest adult on record: the bounds catch
# a slip of the finger (common practice, no source) and grade nobody.
MEASURES_DMM = {
    "pupil_dmm": (300, 900),
    "face_height_dmm": (600, 1800),
    "face_width_dmm": (800, 2000),
}


def _measure_in_range(field: str) -> models.CheckConstraint:
    least, most = MEASURES_DMM[field]
    return models.CheckConstraint(
        condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__range": (least, most)}),
        name=f"session_{field}_in_range",
    )


class SessionQuerySet(models.QuerySet):
    def unsigned(self):
        return self.filter(signed_at__isnull=True, set_aside_at__isnull=True)

    def signed(self):
        return self.filter(signed_at__isnull=False)

    def standing(self):
        """Those that were not set aside as started by mistake."""
        return self.filter(set_aside_at__isnull=True)


class TreatmentSession(models.Model):
    """
    One sitting in which products are injected.

    `key` is made where the session was started, which may be a tablet without network. `head` is
    the id of the last operation on the session itself, null when none came from a tablet.
    The measures are the patient's own, in tenths of a millimetre; the drawing is scaled to them.
    One that was started by mistake is set aside for good: empty, and no part of the record.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    head = models.UUIDField(null=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="sessions")
    injector = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="sessions"
    )
    appointment = models.OneToOneField(
        Appointment, on_delete=models.PROTECT, null=True, related_name="session"
    )
    started_at = models.DateTimeField("treated at")
    late_reason = models.CharField(
        "written down later because", max_length=300, blank=True,
        help_text="Needed when the treatment was not today.",
    )  # fmt: skip
    created_at = models.DateTimeField(auto_now_add=True)
    jaw = models.CharField(max_length=10, choices=Jaw.choices(), default=Jaw.AVERAGE)
    pupil_dmm = models.PositiveSmallIntegerField("between the pupils", null=True, blank=True)
    face_height_dmm = models.PositiveSmallIntegerField("face height", null=True, blank=True)
    face_width_dmm = models.PositiveSmallIntegerField("face width", null=True, blank=True)
    note = models.TextField(blank=True)
    signed_at = models.DateTimeField(null=True, editable=False)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip
    signed_name = models.CharField(max_length=300, blank=True, editable=False)
    # When the hand signed, if it did so on a tablet whose signature arrived later.
    signature_made_at = models.DateTimeField(null=True, editable=False)
    # SHA-256 over the canonical content, so that a printed note can be compared with the record.
    signed_digest = models.CharField(max_length=64, blank=True, editable=False)
    # What the page asked about when it was signed; null for one that was signed before it was kept.
    signed_flags = models.JSONField(null=True, editable=False)
    set_aside_at = models.DateTimeField(null=True, editable=False)

    objects = SessionQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-started_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(signed_at__isnull=True, signed_by__isnull=True)
                | Q(signed_at__isnull=False, signed_by__isnull=False),
                name="session_signed_by_somebody",
            ),
            models.UniqueConstraint(
                fields=["patient"],
                condition=Q(signed_at__isnull=True, set_aside_at__isnull=True),
                name="session_one_open_per_patient",
                violation_error_message="This patient has an unsigned session: finish that first.",
            ),
            # That nothing hangs on it is held by a trigger.
            models.CheckConstraint(
                condition=Q(set_aside_at__isnull=True)
                | Q(signed_at__isnull=True, appointment__isnull=True, note=""),
                name="session_set_aside_is_empty",
            ),
            *(_measure_in_range(field) for field in MEASURES_DMM),
        ]
        indexes = [models.Index(fields=["started_at"], name="session_by_start")]

    def __str__(self) -> str:
        return f"Session {self.started_at:%Y-%m-%d %H:%M}"

    @property
    def is_signed(self) -> bool:
        return self.signed_at is not None

    @property
    def is_set_aside(self) -> bool:
        return self.set_aside_at is not None

    @property
    def is_open(self) -> bool:
        """Whether it can still be worked on."""
        return not self.is_signed and not self.is_set_aside
