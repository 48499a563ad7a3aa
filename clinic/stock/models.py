"""
Lots, the units received, and the ledger of what happened to each unit.

Amounts are integers: microlitres for a product measured by volume, hundredths of a unit for one
measured by dose (`planning.vocabulary.Measure`).
"""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clinic.places.models import Place
from clinic.products.models import Product
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.validators import validate_lot_number
from planning.vocabulary import Measure


class LotQuerySet(models.QuerySet):
    def quarantined(self):
        return self.filter(quarantined_at__isnull=False)

    def expired(self, on):
        """Lots past their expiry day; the printed day itself is still usable."""
        return self.filter(expires_on__lt=on)


class Lot(models.Model):
    """
    One maker's lot of one product.

    The number is stored exactly as printed: case, zeros and signs are part of it (GS1 General
    Specifications, AI 10), and two products may share one.
    """

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="lots")
    number = models.CharField("lot number", max_length=20, validators=[validate_lot_number])
    expires_on = models.DateField("expiry", help_text="Usable through the end of this day.")
    quarantined_at = models.DateTimeField(null=True, editable=False)
    quarantine_reason = models.CharField(max_length=300, blank=True, editable=False)

    objects = LotQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["expires_on", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["product", "number"],
                name="lot_number_once_per_product",
                violation_error_message="This product already has a lot with this number.",
            ),
            models.CheckConstraint(
                condition=Q(quarantined_at__isnull=True, quarantine_reason="")
                | Q(quarantined_at__isnull=False) & ~Q(quarantine_reason=""),
                name="lot_quarantine_has_a_reason",
            ),
            models.CheckConstraint(condition=~Q(number=""), name="lot_has_a_number"),
        ]
        indexes = [models.Index(fields=["number"], name="lot_by_number")]

    def __str__(self) -> str:
        return f"{self.product} {self.number}"

    @property
    def is_quarantined(self) -> bool:
        return self.quarantined_at is not None

    def is_expired(self, on) -> bool:
        return on > self.expires_on


def unit_label(number: int) -> str:
    """The running number as it is written on a box: 12 -> "U000012"."""
    return f"U{number:06d}"


HAS_SOMETHING_LEFT = Q(state=UnitState.IN_STOCK) | Q(
    state=UnitState.OPENED, content__gt=F("drawn") + F("wasted")
)


class UnitQuerySet(models.QuerySet):
    def with_lot(self):
        return self.select_related("lot__product")

    def in_stock(self):
        return self.filter(state=UnitState.IN_STOCK)

    def opened(self):
        return self.filter(state=UnitState.OPENED)

    def with_something_left(self):
        """In the house and not empty: opened units stay opened when nothing remains in them."""
        return self.filter(HAS_SOMETHING_LEFT)

    def first_expired_first(self):
        return self.order_by("lot__expires_on", "id")


class UnitOfStock(models.Model):
    """
    One syringe or one vial.

    `drawn` and `wasted` are kept by triggers from the points and the ledger, whatever path they are
    written by; a check holds content = drawn + wasted + remaining with remaining never negative.
    """

    label = models.CharField(max_length=12, unique=True, editable=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="units")
    serial = models.CharField(max_length=20, blank=True)
    content = models.PositiveBigIntegerField()
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, editable=False, related_name="units",
        help_text="Where it was put last; empty when nobody said.",
    )  # fmt: skip
    drawn = models.PositiveBigIntegerField(default=0, editable=False)
    wasted = models.PositiveBigIntegerField(default=0, editable=False)
    state = models.CharField(
        max_length=12, choices=UnitState.choices(), default=UnitState.IN_STOCK, editable=False
    )
    # Of this unit by its serial number; a quarantine of the whole lot stands with the lot.
    quarantined_at = models.DateTimeField(null=True, editable=False)
    quarantine_reason = models.CharField(max_length=300, blank=True, editable=False)

    objects = UnitQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(content__gte=F("drawn") + F("wasted")),
                name="unit_never_overdrawn",
                violation_error_message="More was drawn and wasted than the unit holds.",
            ),
            models.CheckConstraint(
                condition=Q(drawn__gte=0, wasted__gte=0), name="unit_amounts_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(state__in=[state.value for state in UnitState]),
                name="unit_state_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(state=UnitState.IN_STOCK) | Q(drawn=0, wasted=0),
                name="unit_in_stock_is_full",
            ),
            models.UniqueConstraint(
                fields=["lot", "serial"],
                condition=~Q(serial=""),
                name="unit_serial_once_per_lot",
                violation_error_message="A unit of this lot with this serial number is in the "
                "books already.",
            ),
            models.CheckConstraint(
                condition=Q(quarantined_at__isnull=True, quarantine_reason="")
                | Q(quarantined_at__isnull=False) & ~Q(quarantine_reason=""),
                name="unit_quarantine_has_a_reason",
            ),
        ]
        indexes = [models.Index(fields=["state", "lot"], name="unit_by_state")]

    def __str__(self) -> str:
        return self.label

    @property
    def number(self) -> int:
        """Its running number."""
        return int(self.label.removeprefix("U"))

    @property
    def remaining(self) -> int:
        return self.content - self.drawn - self.wasted

    @property
    def is_quarantined(self) -> bool:
        """By its own serial number, or with its whole lot."""
        return self.quarantined_at is not None or self.lot.is_quarantined

    @property
    def is_empty(self) -> bool:
        return self.remaining == 0

    @property
    def has_something_left(self) -> bool:
        """In the house and not empty, as `UnitQuerySet.with_something_left`."""
        is_opened = self.state == UnitState.OPENED
        return self.state == UnitState.IN_STOCK or (is_opened and not self.is_empty)

    @property
    def is_gone(self) -> bool:
        """Returned, written off or missing: what it held is no longer the clinic's to use."""
        return self.state not in (UnitState.IN_STOCK, UnitState.OPENED)

    @property
    def is_warm(self) -> bool:
        """Belongs in a fridge and lies in a place that is none; where nobody said, nobody knows."""
        place = self.place
        return place is not None and self.lot.product.is_cold_chain and not place.is_fridge

    @property
    def measure(self) -> Measure:
        return self.lot.product.measure


NEED_A_REASON = ["wasted", "returned", "written_off", "missing", "found"]


class StockMovement(models.Model):
    """A row of the ledger: what happened to a unit, by whom and why. Never changed."""

    unit = models.ForeignKey(UnitOfStock, on_delete=models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=12, choices=MovementKind.choices())
    amount = models.PositiveBigIntegerField(help_text="What the movement concerns, in base units.")
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, related_name="+",
        help_text="Where the unit was put by it.",
    )  # fmt: skip
    reason = models.CharField(max_length=300, blank=True)
    witness = models.CharField(
        max_length=200, blank=True, help_text="Who saw it returned or destroyed."
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "clinic"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in MovementKind]),
                name="movement_kind_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(kind__in=NEED_A_REASON) | ~Q(reason=""),
                name="movement_loss_has_a_reason",
                violation_error_message="Say why.",
            ),
            models.CheckConstraint(
                condition=~Q(kind=MovementKind.MOVED.value) | Q(place__isnull=False),
                name="movement_moved_somewhere",
                violation_error_message="Say where it was moved to.",
            ),
        ]
        indexes = [
            # The last act at the shelf, which tablets ask for with every point they send.
            models.Index(
                fields=["-id"],
                condition=~Q(kind__in=[MovementKind.DRAWN.value, MovementKind.UNDRAWN.value]),
                name="movement_at_the_shelf",
            ),
            models.Index(fields=["kind", "at"], name="movement_by_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.unit_id} {self.kind} {self.amount}"
