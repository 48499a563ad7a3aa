"""A patient's photographs, what each may be used for, and the series the clinic chose."""

import uuid
from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import Exists, F, OuterRef, Q

from clinic.pictures.storage import private_pictures
from planning.standard_views import PhotoState, PhotoView, Shot
from planning.vocabulary import ProductKind
from records.patients.models import Patient
from records.photographs.enums import OUTSIDE, PictureSource, Use
from records.sessions.models import TreatmentSession


class PhotographQuerySet(models.QuerySet):
    def standing(self):
        """Those that were not taken out of the record."""
        return self.filter(removed_at__isnull=True)

    def latest_first(self):
        return self.order_by("-taken_at", "-id")

    def without_thumbnail(self):
        """Whose smaller pictures are still to be made."""
        return self.standing().filter(thumbnail="")

    def usable_for(self, use: Use, *, on: date):
        """Those the patient agrees to have used so on that day."""
        agreed = PhotographUse.objects.in_force(on).filter(photograph=OuterRef("pk"), use=use)
        return self.standing().filter(Exists(agreed))


class Photograph(models.Model):
    """
    One photograph of a patient, from one of the standard views.

    `file` is the picture in full resolution, upright, in sRGB and without a word that the camera
    wrote into it; `preview` and `thumbnail` are made of it in the background and empty until then.
    What it shows may be corrected; the picture itself stays, also when it was taken out.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="photographs")
    session = models.ForeignKey(
        TreatmentSession, on_delete=models.PROTECT, null=True, blank=True,
        related_name="photographs",
    )  # fmt: skip
    view = models.CharField(max_length=20, choices=PhotoView.choices())
    state = models.CharField(max_length=20, choices=PhotoState.choices())
    taken_at = models.DateTimeField("taken", help_text="By the clock of the device.")
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    source = models.CharField(max_length=10, choices=PictureSource.choices())
    file = models.FileField(storage=private_pictures)
    preview = models.FileField(storage=private_pictures, blank=True)
    thumbnail = models.FileField(storage=private_pictures, blank=True)
    width = models.PositiveIntegerField(help_text="Pixels.")
    height = models.PositiveIntegerField(help_text="Pixels.")
    digest = models.CharField(max_length=64, help_text="SHA-256 of the stored bytes.")
    # Tells the same picture sent again from another one under its key.
    sent_digest = models.CharField(max_length=64, help_text="SHA-256 of the bytes that were sent.")
    removed_at = models.DateTimeField(null=True, editable=False)
    removed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip
    removed_reason = models.CharField(max_length=300, blank=True, editable=False)

    objects = PhotographQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-taken_at", "-id"]
        indexes = [
            models.Index(fields=["patient", "-taken_at", "-id"], name="photograph_of_patient"),
            models.Index(
                fields=["id"], name="photograph_small_to_make",
                condition=Q(thumbnail="", removed_at__isnull=True),
            ),
        ]  # fmt: skip
        constraints = [
            models.CheckConstraint(
                condition=Q(view__in=[view.value for view in PhotoView]),
                name="photograph_view_is_known",
            ),
            models.CheckConstraint(
                condition=Q(state__in=[state.value for state in PhotoState]),
                name="photograph_state_is_known",
            ),
            models.CheckConstraint(
                condition=Q(width__gt=0, height__gt=0), name="photograph_has_a_size"
            ),
            models.CheckConstraint(
                condition=Q(removed_at__isnull=True, removed_by__isnull=True, removed_reason="")
                | (Q(removed_at__isnull=False, removed_by__isnull=False) & ~Q(removed_reason="")),
                name="photograph_removed_by_somebody_for_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.shot.label}, {self.taken_at:%Y-%m-%d}"

    @property
    def shot(self) -> Shot:
        return Shot(PhotoView(self.view), PhotoState(self.state))


class PhotographUseQuerySet(models.QuerySet):
    def standing(self):
        return self.filter(withdrawn_at__isnull=True)

    def in_force(self, on: date):
        """Neither withdrawn nor run out; the last day counts."""
        return self.standing().filter(Q(until_on__isnull=True) | Q(until_on__gte=on))


class PhotographUse(models.Model):
    """
    That the patient agrees to one use of one photograph, for how long, and when they took it back.

    A given agreement never changes; it is withdrawn once.
    """

    photograph = models.ForeignKey(Photograph, on_delete=models.PROTECT, related_name="uses")
    use = models.CharField(max_length=12, choices=Use.choices())
    given_at = models.DateTimeField()
    given_on = models.DateField(help_text="The clinic's own day of it.")
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    until_on = models.DateField("last day", null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, editable=False)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip

    objects = PhotographUseQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(use__in=[use.value for use in Use]), name="photograph_use_is_known"
            ),
            models.CheckConstraint(
                condition=Q(until_on__isnull=True) | Q(until_on__gte=F("given_on")),
                name="photograph_use_ends_after_it_begins",
            ),
            models.CheckConstraint(
                condition=Q(withdrawn_at__isnull=True, withdrawn_by__isnull=True)
                | Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False),
                name="photograph_use_withdrawn_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_use_display()} since {self.given_on}"

    def is_in_force(self, on: date) -> bool:
        return self.withdrawn_at is None and (self.until_on is None or self.until_on >= on)

    @property
    def is_outside(self) -> bool:
        return self.use in OUTSIDE


class ChosenSeries(models.Model):
    """The clinic's own series for a kind of product, in place of the usual one."""

    kind = models.CharField(max_length=20, choices=ProductKind.choices(), unique=True)
    shots = models.JSONField(help_text="Keys of `planning.standard_views.Shot`, in their order.")
    changed_at = models.DateTimeField()
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        app_label = "records"
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in ProductKind]),
                name="chosen_series_kind_is_known",
            )
        ]

    def __str__(self) -> str:
        return f"Series for {self.get_kind_display().lower()}"
