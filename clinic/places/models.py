"""Where units of stock lie: cupboards, fridges and rooms of the clinic's sites."""

from django.db import models
from django.db.models import F, Q

from clinic.places.enums import PlaceKind
from clinic.sites.models import Site


class PlaceQuerySet(models.QuerySet):
    def in_use(self):
        return self.filter(is_active=True)

    def fridges(self):
        return self.filter(kind=PlaceKind.FRIDGE)


class PlaceManager(models.Manager.from_queryset(PlaceQuerySet)):  # type: ignore[misc]
    """Places with their sites, which are a part of their names."""

    def get_queryset(self):
        return super().get_queryset().select_related("site")


class Place(models.Model):
    """
    One place of one site. A fridge has the range its readings are held against.

    Temperatures are tenths of a degree Celsius. A place is taken out of use, never deleted: the
    ledger names it.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="places")
    name = models.CharField(max_length=100)
    kind = models.CharField(max_length=10, choices=PlaceKind.choices(), default=PlaceKind.CUPBOARD)
    lowest_tenths = models.SmallIntegerField("lowest temperature", null=True, blank=True)
    highest_tenths = models.SmallIntegerField("highest temperature", null=True, blank=True)
    is_active = models.BooleanField("in use", default=True)

    objects = PlaceManager()

    class Meta:
        app_label = "clinic"
        ordering = ["site__name", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "name"],
                name="place_once_per_site",
                violation_error_message="This site already has a place of this name.",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in PlaceKind]),
                name="place_kind_is_known",
            ),
            models.CheckConstraint(
                condition=Q(lowest_tenths__isnull=True, highest_tenths__isnull=True)
                | Q(
                    lowest_tenths__isnull=False,
                    highest_tenths__isnull=False,
                    highest_tenths__gt=F("lowest_tenths"),
                ),
                name="place_range_whole",
                violation_error_message="Give both temperatures, the lower one first.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="fridge") | Q(lowest_tenths__isnull=False),
                name="place_fridge_has_range",
                violation_error_message="Say between which temperatures this fridge is kept.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.site}, {self.name}"

    @property
    def is_fridge(self) -> bool:
        return self.kind == PlaceKind.FRIDGE

    @property
    def kept_between(self) -> tuple[int, int] | None:
        """The lower and the upper end of its range, where it has one; every fridge does."""
        if self.lowest_tenths is None or self.highest_tenths is None:
            return None
        return self.lowest_tenths, self.highest_tenths
