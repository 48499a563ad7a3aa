"""Units of stock in a session: what was opened, and what lies on the tray."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.stock.models import UnitOfStock
from planning.vocabulary import Diluent
from records.patients.models import Patient
from records.sessions.enums import Remainder
from records.sessions.models.sittings import TreatmentSession


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
    diluent = models.CharField("made up with", max_length=20, choices=Diluent.choices(), blank=True)
    diluent_ul = models.PositiveIntegerField("volume of diluent", null=True, blank=True)
    use_before = models.DateTimeField(null=True, blank=True)
    deviation = models.CharField(
        max_length=300, blank=True,
        help_text="Why a unit was used that the clinic would have refused.",
    )  # fmt: skip
    confirmed_odd = models.CharField(
        "confirmed when asked", max_length=200, blank=True,
        help_text="What was asked about the diluent when it was typed, and confirmed.",
    )  # fmt: skip

    class Meta:
        app_label = "records"
        constraints = [
            models.CheckConstraint(
                condition=Q(diluent__in=["", *(diluent.value for diluent in Diluent)]),
                name="opening_diluent_is_known",
            ),
            models.CheckConstraint(
                condition=Q(diluent="") | Q(diluent_ul__isnull=False),
                name="opening_diluent_has_a_volume",
            ),
        ]

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
