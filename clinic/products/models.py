"""What the clinic injects, as it is sold."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Length

from clinic.products.fields import GtinField
from clinic.products.validators import validate_gtin
from planning.lidocaine_strength import format_strength
from planning.temperatures import format_temperature, plain_temperature
from planning.vocabulary import Measure, ProductKind

models.CharField.register_lookup(Length)


def line_key(pk: int, maker: str, kind: str, line: str) -> tuple[str, str, str]:
    """The same for packs of any size of one product, and for nothing else."""
    return (maker, kind, line) if line else ("", "", str(pk))


class ProductQuerySet(models.QuerySet):
    def in_use(self):
        return self.filter(is_active=True)


class Product(models.Model):
    """Something the clinic injects, as it is sold: one kind, one pack content."""

    name = models.CharField(max_length=200, unique=True)
    maker = models.CharField(max_length=200)
    line = models.CharField(
        "product line",
        max_length=100,
        blank=True,
        help_text="Packs of several sizes of one product carry the same words here, so that a plan "
        "can use any of them.",
    )
    kind = models.CharField(max_length=20, choices=ProductKind.choices())
    content = models.PositiveBigIntegerField(
        "content of one unit",
        validators=[MinValueValidator(1)],
        help_text="Microlitres in a syringe, hundredths of a unit in a vial of toxin.",
    )
    gtin = GtinField(
        "GTIN",
        max_length=14,
        unique=True,
        null=True,
        blank=True,
        validators=[validate_gtin],
        help_text="The number under the bar code, 8 to 14 digits.",
    )
    lidocaine_ug_per_ml = models.PositiveIntegerField(
        "lidocaine", default=0, help_text="Micrograms per millilitre; 0.3 % is 3,000."
    )
    is_single_patient = models.BooleanField(
        "for a single patient",
        default=True,
        help_text="A unit is bound to the first patient it is opened for.",
    )
    hours_after_opening = models.PositiveSmallIntegerField(
        "hours usable after opening",
        validators=[MinValueValidator(1), MaxValueValidator(8_760)],
        null=True,
        blank=True,
        help_text="For a vial that is made up or shared. The instructions for use say how long.",
    )
    typical_duration_months = models.PositiveSmallIntegerField(
        "typical duration in months",
        validators=[MinValueValidator(1), MaxValueValidator(120)],
        null=True,
        blank=True,
    )
    units_per_pack = models.PositiveSmallIntegerField(
        "units in a pack",
        default=1,
        validators=[MinValueValidator(1), MaxValueValidator(100)],
        help_text="Syringes or vials behind one scanned code.",
    )
    supplier = models.CharField(max_length=200, blank=True, help_text="Who it is ordered from.")
    lead_time_days = models.PositiveSmallIntegerField(
        "days from order to delivery",
        validators=[MaxValueValidator(365)],
        null=True,
        blank=True,
    )
    # In hundredths of the clinic's currency; empty where nobody set one, which is not free.
    price = models.PositiveIntegerField(
        "price of one unit", null=True, blank=True, help_text="What the patient pays for one unit."
    )
    # Tenths of a degree Celsius; both or none. With them the product belongs in a fridge.
    keep_lowest_tenths = models.SmallIntegerField("kept at no less than", null=True, blank=True)
    keep_highest_tenths = models.SmallIntegerField("kept at no more than", null=True, blank=True)
    is_active = models.BooleanField("in use", default=True)

    objects = ProductQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in ProductKind]),
                name="product_kind_is_known",
            ),
            models.CheckConstraint(condition=Q(content__gt=0), name="product_content_positive"),
            # A shorter form of the same item would pass by the unique rule.
            models.CheckConstraint(
                condition=Q(gtin__isnull=True) | Q(gtin__length=14),
                name="product_gtin_has_14_digits",
            ),
            models.CheckConstraint(
                condition=Q(units_per_pack__gt=0), name="product_pack_holds_something"
            ),
            models.CheckConstraint(
                condition=Q(keep_lowest_tenths__isnull=True, keep_highest_tenths__isnull=True)
                | Q(
                    keep_lowest_tenths__isnull=False,
                    keep_highest_tenths__isnull=False,
                    keep_highest_tenths__gt=F("keep_lowest_tenths"),
                ),
                name="product_kept_between",
                violation_error_message="Give both temperatures, the lower one first.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def measure(self) -> Measure:
        return ProductKind(self.kind).measure

    @property
    def line_key(self) -> tuple[str, str, str]:
        """As `line_key` has it."""
        return line_key(self.pk, self.maker, self.kind, self.line)

    @property
    def line_name(self) -> str:
        """What a plan calls it, whatever the pack."""
        return self.line or self.name

    @property
    def is_cold_chain(self) -> bool:
        return self.keep_highest_tenths is not None

    @property
    def kept_text(self) -> str:
        """ "2 to 8 °C", or "" if it needs no fridge."""
        if self.keep_lowest_tenths is None or self.keep_highest_tenths is None:
            return ""
        lowest = plain_temperature(self.keep_lowest_tenths).replace("-", "\u2212")
        return f"{lowest} to {format_temperature(self.keep_highest_tenths, no_break=True)}"

    @property
    def lidocaine_text(self) -> str:
        """Both ways it is printed: "0.3 % (3 mg/mL)"."""
        return format_strength(self.lidocaine_ug_per_ml)
