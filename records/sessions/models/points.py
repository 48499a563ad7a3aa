"""Points: what was injected where, and how."""

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
    Measure,
    Plane,
    Side,
    Technique,
    View,
)  # fmt: skip
from records.sessions.models.places import Marking, SessionPicture, StandingQuerySet
from records.sessions.models.sittings import TreatmentSession


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
    box the point lies, so that a redrawn outline never moves it. On a photograph the millimetres
    are the photograph's own, origin top left. `reach_x_dmm` and `reach_y_dmm` say where a fan or
    thread ends. `amount` is in the product's base unit. `head` is the last operation on the point,
    null when none came from a tablet. `changed_at` and `changed_by` are of the last change, empty
    before one: the ledger's row of a changed draw has them. A removed point stays as a row, so that
    sending it again does not bring it back.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, help_text="Made where it was tapped.")
    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="points")
    head = models.UUIDField(null=True, editable=False)
    number = models.PositiveSmallIntegerField()
    # No index of its own: `point_by_unit` begins with the unit.
    unit = models.ForeignKey(
        UnitOfStock, on_delete=models.PROTECT, related_name="points", db_index=False
    )
    view = models.CharField(max_length=10, choices=View.choices())
    x_dmm = models.SmallIntegerField()
    y_dmm = models.SmallIntegerField()
    reach_x_dmm = models.SmallIntegerField(null=True, blank=True)
    reach_y_dmm = models.SmallIntegerField(null=True, blank=True)
    picture = models.ForeignKey(
        SessionPicture, on_delete=models.PROTECT, null=True, blank=True, related_name="points"
    )
    marking = models.ForeignKey(
        Marking, on_delete=models.PROTECT, null=True, blank=True, related_name="points",
        help_text="The place marked beforehand that this point ticks off.",
    )  # fmt: skip
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
    confirmed_odd = models.CharField(
        "confirmed when asked", max_length=200, blank=True,
        help_text="What was asked about the amount when it was typed, and confirmed.",
    )  # fmt: skip
    tapped_at = models.DateTimeField(help_text="By the clock of the device.")
    logged_at = models.DateTimeField(auto_now_add=True)
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    changed_at = models.DateTimeField(null=True, editable=False)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip
    removed_at = models.DateTimeField(null=True, editable=False)

    objects = StandingQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["session", "number"], name="point_number_once"),
            models.CheckConstraint(condition=Q(amount__gt=0), name="point_amount_positive"),
            models.CheckConstraint(
                condition=Q(reach_x_dmm__isnull=True, reach_y_dmm__isnull=True)
                | Q(reach_x_dmm__isnull=False, reach_y_dmm__isnull=False),
                name="point_reach_whole",
            ),
            models.CheckConstraint(
                condition=Q(view=View.PICTURE.value, picture__isnull=False)
                | (~Q(view=View.PICTURE.value) & Q(picture__isnull=True)),
                name="point_picture_with_its_view",
            ),
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
