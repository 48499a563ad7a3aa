"""
The temperature log: readings of fridges, and what was decided about readings out of range.

Temperatures are tenths of a degree Celsius.
"""

from django.conf import settings
from django.db import models
from django.db.models import Exists, F, OuterRef, Q

from clinic.places.models import Place
from planning.temperatures import COLDEST_TYPED, WARMEST_TYPED, Reading

_TYPED = (COLDEST_TYPED, WARMEST_TYPED)
OUTSIDE = (
    Q(temperature__lt=F("lowest"))
    | Q(temperature__gt=F("highest"))
    | Q(coldest__isnull=False, coldest__lt=F("lowest"))
    | Q(warmest__isnull=False, warmest__gt=F("highest"))
)


class ReadingQuerySet(models.QuerySet):
    def outside(self):
        """Out of the range of the day they were taken."""
        return self.filter(OUTSIDE)

    def not_decided(self):
        """Out of range, and in no excursion that somebody has decided about."""
        decided = ExcursionReview.objects.filter(
            first__place=OuterRef("place"),
            first__read_at__lte=OuterRef("read_at"),
            last__read_at__gte=OuterRef("read_at"),
        )
        return self.outside().filter(~Exists(decided))


class FridgeReading(models.Model):
    """
    One look at a fridge's thermometer, with the range it was held against that day.

    The range is kept with it, so that a fridge that is later kept otherwise does not change what
    its past was.
    """

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="readings")
    read_at = models.DateTimeField("read at")
    temperature = models.SmallIntegerField("temperature now")
    coldest = models.SmallIntegerField(
        "lowest since the last reading", null=True, blank=True,
        help_text="From the memory of the thermometer, if it has one.",
    )  # fmt: skip
    warmest = models.SmallIntegerField("highest since the last reading", null=True, blank=True)
    lowest = models.SmallIntegerField("range from")
    highest = models.SmallIntegerField("range to")
    done = models.CharField("what was done", max_length=300, blank=True)
    note = models.CharField(max_length=300, blank=True)
    logged_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    objects = ReadingQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["-read_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["place", "read_at"], name="reading_one_at_a_time",
                violation_error_message="This fridge has a reading of this minute already.",
            ),
            models.CheckConstraint(
                condition=Q(coldest__isnull=True) | Q(coldest__lte=F("temperature")),
                name="reading_coldest_is_not_above",
            ),
            models.CheckConstraint(
                condition=Q(warmest__isnull=True) | Q(warmest__gte=F("temperature")),
                name="reading_warmest_is_not_below",
            ),
            models.CheckConstraint(
                condition=Q(temperature__range=_TYPED)
                & (Q(coldest__isnull=True) | Q(coldest__range=_TYPED))
                & (Q(warmest__isnull=True) | Q(warmest__range=_TYPED)),
                name="reading_is_a_temperature",
            ),
            models.CheckConstraint(
                condition=Q(highest__gt=F("lowest")), name="reading_has_a_range"
            ),
            models.CheckConstraint(
                condition=~OUTSIDE | ~Q(done=""), name="reading_outside_says_what_was_done",
                violation_error_message="Say what was done.",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.place_id} at {self.read_at}: {self.temperature}"

    @property
    def as_read(self) -> Reading:
        return Reading(self.read_at, self.temperature, self.coldest, self.warmest)

    @property
    def is_too_cold(self) -> bool:
        return self.as_read.least < self.lowest

    @property
    def is_too_warm(self) -> bool:
        return self.as_read.most > self.highest

    @property
    def is_outside(self) -> bool:
        return self.is_too_cold or self.is_too_warm


class ExcursionReview(models.Model):
    """
    What the owner decided about readings in a row that were out of range.

    It holds for the readings from `first` to `last`; where more followed, they wait for another.
    """

    first = models.ForeignKey(FridgeReading, on_delete=models.PROTECT, related_name="+")
    last = models.ForeignKey(FridgeReading, on_delete=models.PROTECT, related_name="+")
    decision = models.CharField(max_length=1000)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "clinic"
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(decision=""), name="excursion_review_says_something"
            )
        ]

    def __str__(self) -> str:
        return self.decision
