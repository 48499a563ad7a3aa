"""Stock counts: what was counted, what people saw, and what was posted into the ledger."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from clinic.counts.enums import CountScope, Way
from clinic.places.models import Place
from clinic.products.models import Product
from clinic.stock.models import StockMovement, UnitOfStock
from clinic.stock.validators import MOST_AT_ONCE, validate_lot_number

_OPEN = Q(posted_at__isnull=True, given_up_at__isnull=True)


class CountQuerySet(models.QuerySet):
    def under_way(self):
        """Neither posted nor given up."""
        return self.filter(_OPEN)

    def over(self):
        return self.exclude(_OPEN)


class StockCount(models.Model):
    """
    One count, by as many people as take part, until it is posted or given up.

    What it found is not written here: posting compares what was seen with the ledger as it is then.
    """

    scope = models.CharField("what is counted", max_length=10, choices=CountScope.choices())
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="counts"
    )
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    posted_at = models.DateTimeField(null=True)
    posted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    given_up_at = models.DateTimeField(null=True)
    given_up_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    give_up_reason = models.CharField(max_length=300, blank=True)

    objects = CountQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(scope=CountScope.PLACE.value, place__isnull=False)
                | Q(scope__in=[CountScope.NOWHERE.value, CountScope.EVERYTHING.value])
                & Q(place__isnull=True),
                name="count_place_as_its_scope_says",
                violation_error_message="Choose the place that is counted.",
            ),
            models.CheckConstraint(
                condition=Q(posted_at__isnull=True, posted_by__isnull=True)
                | Q(posted_at__isnull=False, posted_by__isnull=False),
                name="count_posted_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(given_up_at__isnull=True, given_up_by__isnull=True, give_up_reason="")
                | Q(given_up_at__isnull=False, given_up_by__isnull=False) & ~Q(give_up_reason=""),
                name="count_given_up_with_a_reason",
            ),
            models.CheckConstraint(
                condition=Q(posted_at__isnull=True) | Q(given_up_at__isnull=True),
                name="count_ends_once",
            ),
            models.UniqueConstraint(
                fields=["place"], condition=_OPEN & Q(place__isnull=False),
                name="count_one_at_a_time_of_a_place",
            ),
            models.UniqueConstraint(
                fields=["scope"], condition=_OPEN & Q(place__isnull=True),
                name="count_one_at_a_time_without_a_place",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"Count {self.pk}"

    @property
    def what(self) -> str:
        """What is counted, in words."""
        return str(self.place or CountScope(self.scope).label)

    @property
    def is_open(self) -> bool:
        return self.posted_at is None and self.given_up_at is None


class CountedUnit(models.Model):
    """Somebody saw this unit in this count."""

    count = models.ForeignKey(StockCount, on_delete=models.PROTECT, related_name="seen")
    unit = models.ForeignKey(UnitOfStock, on_delete=models.PROTECT, related_name="+")
    way = models.CharField("noted by", max_length=10, choices=Way.choices())
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "clinic"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["count", "unit"], name="counted_unit_once"),
            models.CheckConstraint(
                condition=Q(way__in=[way.value for way in Way]), name="counted_unit_way_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count}: unit {self.unit_id}"


class CountedExtra(models.Model):
    """
    Something that lies there and is in nobody's books: a lot, or a product, that is not known.

    It is received when the count is posted. Until then it may lack the product, of which only the
    GTIN was read, and the expiry.
    """

    count = models.ForeignKey(StockCount, on_delete=models.PROTECT, related_name="extras")
    product = models.ForeignKey(
        Product, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    gtin = models.CharField("GTIN", max_length=14, blank=True)
    number = models.CharField("lot number", max_length=20, validators=[validate_lot_number])
    expires_on = models.DateField("expiry", null=True, blank=True)
    serial = models.CharField("serial number", max_length=20, blank=True)
    quantity = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(MOST_AT_ONCE)]
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "clinic"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(product__isnull=False) | ~Q(gtin=""), name="counted_extra_is_something"
            ),
            models.CheckConstraint(
                condition=Q(quantity__gte=1, quantity__lte=MOST_AT_ONCE),
                name="counted_extra_quantity",
            ),
            models.CheckConstraint(
                condition=Q(serial="") | Q(quantity=1), name="counted_extra_serial_is_of_one"
            ),
            models.UniqueConstraint(
                fields=["count", "product", "number", "serial"],
                condition=Q(product__isnull=False), name="counted_extra_once_per_lot",
            ),
            models.UniqueConstraint(
                fields=["count", "gtin", "number", "serial"],
                condition=Q(product__isnull=True), name="counted_extra_once_per_gtin",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.product or f'GTIN {self.gtin}'}, lot {self.number}"


class CountDifference(models.Model):
    """One posted difference: the row of the ledger it became, and why."""

    count = models.ForeignKey(StockCount, on_delete=models.PROTECT, related_name="differences")
    unit = models.ForeignKey(UnitOfStock, on_delete=models.PROTECT, related_name="+")
    movement = models.OneToOneField(StockMovement, on_delete=models.PROTECT, related_name="+")
    explanation = models.CharField(max_length=300)

    class Meta:
        app_label = "clinic"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["count", "unit"], name="count_difference_once"),
            models.CheckConstraint(
                condition=~Q(explanation=""), name="count_difference_is_explained"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count}: unit {self.unit_id}, {self.explanation}"
