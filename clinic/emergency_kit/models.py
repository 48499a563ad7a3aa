"""What the clinic keeps against an emergency."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from clinic.products.models import Product
from clinic.sites.models import Site
from planning.amounts import format_amount
from planning.vocabulary import Measure, ProductKind

_FROM_STOCK = ~Q(product_kind="") | Q(product__isnull=False)


class EmergencyItemQuerySet(models.QuerySet):
    def in_use(self):
        return self.filter(is_active=True)


class EmergencyItem(models.Model):
    """
    One thing of the kit: counted in the stock by product or by kind of product, or looked at.

    `minimum` is in hundredths of a unit for what is counted in units (hyaluronidase), else in
    unopened pieces. Without a site each site in use keeps it.
    """

    name = models.CharField(max_length=100)
    site = models.ForeignKey(
        Site, on_delete=models.PROTECT, null=True, blank=True, related_name="emergency_items",
        help_text="Empty: every site keeps it.",
    )  # fmt: skip
    product_kind = models.CharField(
        "any product of this kind", max_length=20, choices=ProductKind.choices(), blank=True
    )
    product = models.ForeignKey(
        Product, on_delete=models.PROTECT, null=True, blank=True, related_name="+",
        verbose_name="this product alone",
    )  # fmt: skip
    minimum = models.PositiveBigIntegerField(
        "at least", null=True, blank=True, validators=[MinValueValidator(1)]
    )
    expires_on = models.DateField("expiry", null=True, blank=True)
    source = models.CharField(
        "who asks for it", max_length=300, blank=True,
        help_text="A local code, a guideline with its year, or the clinic itself.",
    )  # fmt: skip
    is_active = models.BooleanField("in use", default=True)

    objects = EmergencyItemQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["name", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(product_kind="") | Q(product__isnull=True),
                name="emergency_item_one_way_of_counting",
                violation_error_message="Count it by kind or by product, not by both.",
            ),
            models.CheckConstraint(
                condition=_FROM_STOCK
                & Q(minimum__isnull=False, minimum__gt=0, expires_on__isnull=True)
                | ~_FROM_STOCK & Q(minimum__isnull=True),
                name="emergency_item_minimum_of_stock",
                violation_error_message="What is counted in the stock has a minimum and no expiry "
                "of its own; what is not has no minimum.",
            ),
            models.UniqueConstraint(
                fields=["name", "site"],
                name="emergency_item_once_per_site",
                violation_error_message="This site has an item of this name already.",
            ),
            models.UniqueConstraint(
                fields=["name"],
                condition=Q(site__isnull=True),
                name="emergency_item_once_for_all",
                violation_error_message="There is an item of this name for every site already.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def kind(self) -> ProductKind | None:
        """Of what is counted in the stock; None for what is looked at."""
        word = self.product.kind if self.product else self.product_kind
        return ProductKind(word) if word else None

    @property
    def is_in_units(self) -> bool:
        return self.kind is not None and self.kind.measure is Measure.DOSE

    def amount_text(self, amount: int) -> str:
        """ "1,500 units", or "2 pieces" of what is counted by piece."""
        if self.is_in_units:
            return format_amount(amount, Measure.DOSE, no_break=True)
        return f"{amount:,} piece{'' if amount == 1 else 's'}"
