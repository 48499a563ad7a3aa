"""Where points can be: planned places, and the patient's own photographs."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clinic.pictures.storage import private_pictures
from planning.atlas.calibration import Calibration
from planning.vocabulary import Side, View
from records.sessions.models.sittings import TreatmentSession


class StandingQuerySet(models.QuerySet):
    def standing(self):
        """Those that were not removed."""
        return self.filter(removed_at__isnull=True)


class SessionPicture(models.Model):
    """
    The patient's own photograph of one session, to put points on.

    Two places in it (pixels of the stored file, origin top left) of known distance, in tenths of a
    millimetre, give its scale; all five values or none. `on_pupils`: they are both pupils, so that
    the front chart can suggest region and side.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="pictures")
    file = models.FileField(storage=private_pictures)
    width = models.PositiveIntegerField(help_text="Pixels.")
    height = models.PositiveIntegerField(help_text="Pixels.")
    digest = models.CharField(max_length=64, help_text="SHA-256 of the stored bytes.")
    # Tells the same picture sent again from another one under its key.
    sent_digest = models.CharField(max_length=64, help_text="SHA-256 of the bytes that were sent.")
    x1 = models.PositiveIntegerField(null=True)
    y1 = models.PositiveIntegerField(null=True)
    x2 = models.PositiveIntegerField(null=True)
    y2 = models.PositiveIntegerField(null=True)
    distance_dmm = models.PositiveIntegerField(null=True)
    on_pupils = models.BooleanField(
        default=False, help_text="The two places are the pupils, seen from the front."
    )
    taken_at = models.DateTimeField(help_text="By the clock of the device.")
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    removed_at = models.DateTimeField(null=True, editable=False)
    head = models.UUIDField(null=True, editable=False)

    objects = StandingQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(width__gt=0, height__gt=0), name="picture_has_a_size"
            ),
            models.CheckConstraint(
                condition=Q(
                    x1__isnull=True, y1__isnull=True, x2__isnull=True, y2__isnull=True,
                    distance_dmm__isnull=True,
                )
                | (
                    Q(
                        x1__isnull=False, y1__isnull=False, x2__isnull=False, y2__isnull=False,
                        distance_dmm__isnull=False, distance_dmm__gt=0,
                    )
                    & ~Q(x1=F("x2"), y1=F("y2"))
                ),
                name="picture_scale_whole",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"Photograph {self.key}"

    @property
    def scale(self) -> Calibration | None:
        """None as long as nobody gave it one."""
        numbers = (self.x1, self.y1, self.x2, self.y2, self.distance_dmm)
        whole = [number for number in numbers if number is not None]
        return Calibration(*whole) if len(whole) == len(numbers) else None


class Marking(models.Model):
    """A place marked on the face before injecting; `InjectionEntry.marking` ticks it off."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="markings")
    view = models.CharField(max_length=10, choices=View.choices())
    x_dmm = models.SmallIntegerField()
    y_dmm = models.SmallIntegerField()
    chart_version = models.CharField(max_length=10)
    region = models.CharField(max_length=40)
    side = models.CharField(max_length=10, choices=Side.choices())
    marked_at = models.DateTimeField(help_text="By the clock of the device.")
    marked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    removed_at = models.DateTimeField(null=True, editable=False)
    head = models.UUIDField(null=True, editable=False)

    objects = StandingQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(view__in=[view.value for view in View if view.is_drawn]),
                name="marking_on_a_drawing",
            ),
            models.CheckConstraint(
                condition=Q(side__in=[side.value for side in Side]), name="marking_side_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"Marking {self.region} {self.side}"
