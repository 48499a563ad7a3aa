"""What went wrong after a treatment, and what became of it."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from clinic.products.models import Product
from clinic.stock.models import Lot, UnitOfStock
from planning.atlas.regions import Region
from planning.event_timing import Timing, timing_of
from planning.vocabulary import Side
from records.adverse_events.enums import Causality, EventOutcome, Grade, Seriousness
from records.patients.models import Patient
from records.sessions.models import InjectionEntry, TreatmentSession


class AdverseEventQuerySet(models.QuerySet):
    def still_open(self):
        return self.filter(closed_at__isnull=True)


class AdverseEvent(models.Model):
    """
    One adverse event of one patient, open until somebody closes it.

    `lot` is the one suspected, empty when none is; `unit` is one of it, `product` stands where the
    lot is not known, `points` are those in question. How severe (`grade`), how serious and how
    likely the cause are three things; empty: not assessed.
    """

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="adverse_events")
    session = models.ForeignKey(
        TreatmentSession, on_delete=models.PROTECT, null=True, blank=True,
        related_name="adverse_events",
    )  # fmt: skip
    lot = models.ForeignKey(
        Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="adverse_events",
        verbose_name="suspected lot",
    )  # fmt: skip
    product = models.ForeignKey(
        Product, on_delete=models.PROTECT, null=True, blank=True, related_name="+",
        verbose_name="suspected product",
    )  # fmt: skip
    unit = models.ForeignKey(
        UnitOfStock, on_delete=models.PROTECT, null=True, blank=True,
        related_name="adverse_events", verbose_name="suspected unit",
    )  # fmt: skip
    points = models.ManyToManyField(InjectionEntry, blank=True, related_name="adverse_events")
    region = models.CharField(max_length=40, blank=True)
    side = models.CharField(max_length=10, choices=Side.choices(), blank=True)
    onset_on = models.DateField("first signs")
    grade = models.CharField(max_length=1, choices=Grade.choices())
    seriousness = models.CharField(
        max_length=20, choices=Seriousness.choices(), blank=True,
        help_text="The gravest that holds. Severe is not the same as serious.",
    )  # fmt: skip
    causality = models.CharField(
        "product as the cause", max_length=20, choices=Causality.choices(), blank=True
    )
    next_check_on = models.DateField("next check", null=True, blank=True)
    signs = models.TextField(help_text="What was seen and felt, in plain words.")
    actions = models.TextField(blank=True, help_text="What was done about it.")
    outcome = models.CharField(
        max_length=20, choices=EventOutcome.choices(), default=EventOutcome.ONGOING
    )
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, editable=False)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip

    objects = AdverseEventQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-onset_on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(grade__in=[grade.value for grade in Grade]),
                name="adverse_event_grade_is_known",
            ),
            models.CheckConstraint(
                condition=Q(outcome__in=[outcome.value for outcome in EventOutcome]),
                name="adverse_event_outcome_is_known",
            ),
            models.CheckConstraint(
                condition=Q(seriousness__in=["", *[word.value for word in Seriousness]]),
                name="adverse_event_seriousness_is_known",
            ),
            models.CheckConstraint(
                condition=Q(causality__in=["", *[word.value for word in Causality]]),
                name="adverse_event_causality_is_known",
            ),
            # A fatal event is a serious one.
            models.CheckConstraint(
                condition=~Q(grade="5") | ~Q(seriousness="not_serious"),
                name="adverse_event_death_is_serious",
            ),
            models.CheckConstraint(
                condition=Q(unit__isnull=True) | Q(lot__isnull=False),
                name="adverse_event_unit_with_its_lot",
            ),
            models.CheckConstraint(
                condition=Q(product__isnull=True) | Q(lot__isnull=True),
                name="adverse_event_product_or_lot",
            ),
            models.CheckConstraint(condition=~Q(signs=""), name="adverse_event_has_signs"),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True, closed_by__isnull=True)
                | Q(closed_at__isnull=False, closed_by__isnull=False)
                & ~Q(outcome__in=["ongoing", "recovering"]),
                name="adverse_event_closed_with_outcome",
                violation_error_message="Say how it ended before you close it.",
            ),
        ]

    def __str__(self) -> str:
        return f"Adverse event of {self.onset_on}"

    @property
    def is_closed(self) -> bool:
        return self.closed_at is not None

    @property
    def suspected_product(self) -> Product | None:
        """Of the suspected lot, or the one named where its lot is not known."""
        return self.lot.product if self.lot else self.product

    @property
    def days_after(self) -> int | None:
        """Whole days from its session to the first signs; None where no session is known."""
        if self.session is None:
            return None
        return (self.onset_on - timezone.localdate(self.session.started_at)).days

    @property
    def timing(self) -> Timing | None:
        """Early or delayed; None where that cannot be told."""
        days = self.days_after
        return timing_of(days) if days is not None and days >= 0 else None

    @property
    def place(self) -> str:
        """ "Zygomatic region, left", or "" where none was noted."""
        named = [Region(self.region).label] if self.region else []
        return ", ".join([*named, *([Side(self.side).label.lower()] if self.side else [])])
