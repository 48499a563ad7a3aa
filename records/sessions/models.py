"""
Treatment sessions and their injection entries ("points").

Until it is signed a session can be worked on; afterwards triggers refuse every change of it and of
what hangs on it, and only addenda are added. Points carry an id made where they were tapped, so
that sending one twice stores it once.
"""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.stock.models import UnitOfStock
from planning.amounts import plain_number
from planning.atlas.regions import Region
from planning.vocabulary import (
    Aspiration,
    Instrument,
    Jaw,
    Measure,
    Plane,
    Side,
    Technique,
    View,
)  # fmt: skip
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.sessions.enums import Remainder


class SessionQuerySet(models.QuerySet):
    def unsigned(self):
        return self.filter(signed_at__isnull=True)

    def signed(self):
        return self.filter(signed_at__isnull=False)


class TreatmentSession(models.Model):
    """One sitting in which products are injected."""

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
    note = models.TextField(blank=True)
    signed_at = models.DateTimeField(null=True, editable=False)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip
    signed_name = models.CharField(max_length=300, blank=True, editable=False)
    # SHA-256 over the canonical content, so that a printed note can be compared with the record.
    signed_digest = models.CharField(max_length=64, blank=True, editable=False)

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
                condition=Q(signed_at__isnull=True),
                name="session_one_open_per_patient",
                violation_error_message="This patient has an unsigned session: finish that first.",
            ),
        ]
        indexes = [models.Index(fields=["started_at"], name="session_by_start")]

    def __str__(self) -> str:
        return f"Session {self.started_at:%Y-%m-%d %H:%M}"

    @property
    def is_signed(self) -> bool:
        return self.signed_at is not None


class Opening(models.Model):
    """
    The opening of a unit of stock: once, in one session.

    `patient` is the one the unit is bound to; empty for a vial the clinic shares, which then
    carries how it was made up and until when it may be used.
    """

    unit = models.OneToOneField(
        UnitOfStock, on_delete=models.PROTECT, primary_key=True, related_name="opening"
    )
    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="openings")
    patient = models.ForeignKey(
        Patient, on_delete=models.PROTECT, null=True, related_name="bound_units"
    )
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    diluent_ul = models.PositiveIntegerField("diluent", null=True, blank=True)
    use_before = models.DateTimeField(null=True, blank=True)
    deviation = models.CharField(
        max_length=300, blank=True,
        help_text="Why a unit was used that the clinic would have refused.",
    )  # fmt: skip

    class Meta:
        app_label = "records"

    def __str__(self) -> str:
        return f"{self.unit_id} opened {self.opened_at:%Y-%m-%d %H:%M}"


class SessionUnit(models.Model):
    """A unit of stock on the tray of a session, and what became of its remainder."""

    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="tray")
    unit = models.ForeignKey(UnitOfStock, on_delete=models.PROTECT, related_name="trays")
    deviation = models.CharField(max_length=300, blank=True)
    remainder = models.CharField(max_length=10, choices=Remainder.choices(), blank=True)
    remainder_amount = models.PositiveBigIntegerField(null=True)

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["session", "unit"], name="unit_once_per_session")
        ]

    def __str__(self) -> str:
        return f"{self.unit_id} in session {self.session_id}"


class PointQuerySet(models.QuerySet):
    def standing(self):
        """Points that were not removed."""
        return self.filter(removed_at__isnull=True)


def _known(field: str, words) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(**{f"{field}__in": [word.value for word in words]}),
        name=f"point_{field}_is_known",
    )


class InjectionEntry(models.Model):
    """
    One bolus, thread, fan or micro-droplet series at one place.

    `x_dmm` and `y_dmm` are tenths of a millimetre on the chart of `chart_version`, origin at the
    nasion, y downwards; `relative_x_permille` and `relative_y_permille` say where in its region's
    box the point lies, so that a redrawn outline never moves it. `amount` is in the product's base
    unit. A removed point stays as a row, so that sending it again does not bring it back.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, help_text="Made where it was tapped.")
    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="points")
    number = models.PositiveSmallIntegerField()
    # No index of its own: `point_by_unit` begins with the unit.
    unit = models.ForeignKey(
        UnitOfStock, on_delete=models.PROTECT, related_name="points", db_index=False
    )
    view = models.CharField(max_length=10, choices=View.choices())
    x_dmm = models.SmallIntegerField()
    y_dmm = models.SmallIntegerField()
    chart_version = models.CharField(max_length=10)
    region = models.CharField(max_length=40)
    side = models.CharField(max_length=10, choices=Side.choices())
    relative_x_permille = models.SmallIntegerField()
    relative_y_permille = models.SmallIntegerField()
    plane = models.CharField(max_length=20, choices=Plane.choices())
    technique = models.CharField(max_length=20, choices=Technique.choices())
    instrument = models.CharField(max_length=10, choices=Instrument.choices())
    gauge = models.PositiveSmallIntegerField(null=True, blank=True)
    length_mm = models.PositiveSmallIntegerField("length", null=True, blank=True)
    aspiration = models.CharField(max_length=10, choices=Aspiration.choices())
    amount = models.PositiveBigIntegerField()
    deviation = models.CharField(max_length=300, blank=True)
    tapped_at = models.DateTimeField(help_text="By the clock of the device.")
    logged_at = models.DateTimeField(auto_now_add=True)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    removed_at = models.DateTimeField(null=True, editable=False)

    objects = PointQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["session", "number"], name="point_number_once"),
            models.CheckConstraint(condition=Q(amount__gt=0), name="point_amount_positive"),
            _known("view", View),
            _known("side", Side),
            _known("plane", Plane),
            _known("technique", Technique),
            _known("instrument", Instrument),
            _known("aspiration", Aspiration),
        ]
        indexes = [
            # The lot trace: unit of stock -> points. Covers the join to the session.
            models.Index(fields=["unit", "session"], name="point_by_unit"),
        ]

    def __str__(self) -> str:
        return f"Point {self.number}"

    @property
    def measure(self) -> Measure:
        return self.unit.measure

    @property
    def plain_amount(self) -> str:
        """The number alone, as it is typed into a form."""
        return plain_number(self.amount, Measure(self.measure))

    @property
    def region_label(self) -> str:
        return Region(self.region).label

    @property
    def instrument_text(self) -> str:
        """ "Needle 27 G, 13 mm", as far as it was noted."""
        text = self.get_instrument_display()
        if self.gauge:
            text += f" {self.gauge} G"
        return f"{text}, {self.length_mm} mm" if self.length_mm else text


class Addendum(models.Model):
    """What is added to a signed session: who, when, why. Never changed."""

    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="addenda")
    point = models.ForeignKey(
        InjectionEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="addenda",
        help_text="The point it concerns, if it is about one.",
    )  # fmt: skip
    reason = models.CharField(max_length=300, help_text="Why the note needs it.")
    text = models.TextField()
    written_at = models.DateTimeField()
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(reason="") & ~Q(text=""), name="addendum_says_what_and_why"
            )
        ]

    def __str__(self) -> str:
        return f"Addendum {self.written_at:%Y-%m-%d %H:%M}"
