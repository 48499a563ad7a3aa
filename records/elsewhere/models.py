"""What a patient had elsewhere, as the patient tells it."""

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from planning.amounts import format_amount
from planning.atlas.regions import Region
from planning.care import CareElsewhere, CareKind, FillerFamily, PartialDay, Precision
from planning.vocabulary import Measure
from records.patients.models import Patient


class ReportedCareQuerySet(models.QuerySet):
    def standing(self):
        return self.filter(withdrawn_at__isnull=True)

    def latest_first(self):
        """Those of a day that nobody knows come last, on either database."""
        return self.order_by(F("day").desc(nulls_last=True), "-id")


def _only_of(kinds: list[str], field: str, empty: Q) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(kind__in=kinds) | empty, name=f"care_{field}_of_its_kind"
    )


class ReportedCare(models.Model):
    """
    One vaccine, procedure, filler or toxin that the patient reports from elsewhere.

    `day` is the first day it can have been, by `precision`; empty where nobody knows. It never
    changes: what was wrong is withdrawn with a reason, and reported anew.
    """

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="reported_care")
    kind = models.CharField(max_length=10, choices=CareKind.choices())
    day = models.DateField("when", null=True, blank=True)
    precision = models.CharField(
        "known to", max_length=10, choices=Precision.choices(), default=Precision.DAY.value
    )
    region = models.CharField(max_length=40, blank=True, choices=Region.choices())
    family = models.CharField("made of", max_length=10, choices=FillerFamily.choices(), blank=True)
    centiunits = models.PositiveIntegerField(
        "units", null=True, blank=True, help_text="Hundredths of a unit, of a toxin."
    )
    note = models.CharField(max_length=300, blank=True)
    reported_at = models.DateTimeField()
    reported_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    withdrawn_at = models.DateTimeField(null=True, editable=False)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip

    objects = ReportedCareQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-day", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in CareKind]), name="care_kind_is_known"
            ),
            models.CheckConstraint(
                condition=Q(day__isnull=True, precision=Precision.UNKNOWN.value)
                | Q(day__isnull=False, precision__in=["day", "month", "year"]),
                name="care_day_with_its_precision",
            ),
            _only_of(["filler", "toxin"], "region", Q(region="")),
            _only_of(["toxin"], "units", Q(centiunits__isnull=True)),
            models.CheckConstraint(
                condition=Q(kind="filler", family__in=[family.value for family in FillerFamily])
                | (~Q(kind="filler") & Q(family="")),
                name="care_family_of_a_filler",
            ),
            models.CheckConstraint(
                condition=Q(centiunits__isnull=True) | Q(centiunits__gt=0),
                name="care_units_positive",
            ),
            models.CheckConstraint(
                condition=Q(withdrawn_at__isnull=True, withdrawn_by__isnull=True)
                | Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False),
                name="care_withdrawn_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.when_text}"

    def was_known_at(self, moment: datetime) -> bool:
        """As the record had it then: later reports and withdrawals leave it as it was."""
        was_withdrawn = self.withdrawn_at is not None and self.withdrawn_at <= moment
        return self.reported_at <= moment and not was_withdrawn

    @property
    def when(self) -> PartialDay:
        return PartialDay(self.day, Precision(self.precision))

    @property
    def when_text(self) -> str:
        """ "5 Mar 2026", "Mar 2026", "2026", "date not known"."""
        formats = {"day": "%-d %b %Y", "month": "%b %Y", "year": "%Y"}
        return f"{self.day:{formats[self.precision]}}" if self.day else "date not known"

    @property
    def details(self) -> str:
        """ "Zygomatic region, permanent" or "40 units"; as much as was told."""
        parts = [Region(self.region).label] if self.region else []
        if self.family:
            parts.append(FillerFamily(self.family).label.lower())
        if self.centiunits:
            parts.append(format_amount(self.centiunits, Measure.DOSE, no_break=True))
        return ", ".join(parts)

    @property
    def as_care(self) -> CareElsewhere:
        """As the planning service takes it."""
        return CareElsewhere(
            kind=CareKind(self.kind),
            when=self.when,
            region=self.region,
            family=FillerFamily(self.family) if self.family else FillerFamily.UNKNOWN,
            centiunits=self.centiunits,
        )
