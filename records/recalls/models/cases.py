"""The case, the notice it came from, and what the notice names."""

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clinic.products.models import Product
from clinic.quarantine.models import Quarantine
from records.recalls.enums import RecallClass


class CaseQuerySet(models.QuerySet):
    def still_open(self):
        return self.filter(closed_at__isnull=True)

    def closed(self):
        return self.filter(closed_at__isnull=False)

    def real(self):
        """Without drills."""
        return self.filter(is_drill=False)


class RecallCase(models.Model):
    """
    One recall, or the drill of one.

    The stopwatch runs from `received_at`, when the notice came into the house, to `list_at`, when
    the call list was complete: everybody on it, with a way to reach them or the note that there is
    none. `level` and `level_percent` are of the effectiveness check (21 CFR 7.42(b)(3)).
    """

    number = models.CharField(max_length=12, unique=True, editable=False)
    is_drill = models.BooleanField("drill", default=False)
    reference = models.CharField(max_length=100, help_text="The maker's or regulator's number.")
    maker = models.CharField(max_length=200)
    recall_class = models.CharField(
        "class", max_length=4, choices=RecallClass.choices(), default=RecallClass.NOT_STATED
    )
    notice_on = models.DateField("date of the notice")
    received_at = models.DateTimeField("notice received")
    text = models.TextField("what the notice says")
    level = models.CharField("effectiveness check", max_length=1, default="A")
    level_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    expected_end_on = models.DateField(
        "expected end", null=True, blank=True, help_text="When everybody will have been reached."
    )
    opened_at = models.DateTimeField(editable=False)
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, editable=False, related_name="+"
    )
    quarantined_at = models.DateTimeField(null=True, editable=False)
    list_at = models.DateTimeField(null=True, editable=False)
    list_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip
    sampled_at = models.DateTimeField(null=True, editable=False)
    closing_note = models.TextField(blank=True)
    closed_at = models.DateTimeField(null=True, editable=False)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip
    closed_name = models.CharField(max_length=300, blank=True, editable=False)
    # SHA-256 over the case's canonical content, so that the report can be compared with it.
    closed_digest = models.CharField(max_length=64, blank=True, editable=False)

    objects = CaseQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(recall_class__in=[word.value for word in RecallClass]),
                name="recall_class_is_known",
            ),
            models.CheckConstraint(
                condition=Q(level__in=["A", "C", "D", "E"], level_percent__isnull=True)
                | Q(
                    level="B",
                    level_percent__isnull=False,
                    level_percent__gt=10,
                    level_percent__lt=100,
                ),
                name="recall_level_whole",
                violation_error_message="Level B needs a percentage from 11 to 99.",
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True, closed_by__isnull=True, closed_digest="")
                | Q(closed_at__isnull=False, closed_by__isnull=False) & ~Q(closed_digest=""),
                name="recall_closed_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(list_at__isnull=True) | Q(list_by__isnull=False),
                name="recall_list_by_somebody",
            ),
            # The stopwatch starts with the notice.
            models.CheckConstraint(
                condition=Q(opened_at__gte=F("received_at")),
                name="recall_received_before_opened",
                violation_error_message="The notice cannot have come after the case was opened.",
            ),
            models.CheckConstraint(
                condition=Q(is_drill=False) | Q(quarantined_at__isnull=True),
                name="recall_drill_stops_nothing",
            ),
        ]

    def __str__(self) -> str:
        return f"{'Drill' if self.is_drill else 'Recall'} {self.number}"

    @property
    def is_open(self) -> bool:
        return self.closed_at is None

    @property
    def found_late_after(self) -> datetime:
        """Whoever joined the call list after this was found late."""
        return self.list_at or self.opened_at

    @property
    def badge_label(self) -> str:
        """ "Class II", or nothing where the notice states none."""
        if self.recall_class == RecallClass.NOT_STATED:
            return ""
        return RecallClass(self.recall_class).label

    @property
    def file_stem(self) -> str:
        """How a file of the case begins: "recall-R0001", "DRILL-D0001"."""
        return f"{'DRILL' if self.is_drill else 'recall'}-{self.number}"


class NoticeFile(models.Model):
    """The maker's letter as it came, a file of the case. Never changed."""

    case = models.ForeignKey(RecallCase, on_delete=models.PROTECT, related_name="files")
    name = models.CharField(max_length=200)
    content_type = models.CharField(max_length=100)
    content = models.BinaryField()
    digest = models.CharField(max_length=64, help_text="SHA-256 of the content.")
    added_at = models.DateTimeField()
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["id"]

    def __str__(self) -> str:
        return self.name


class CaseSpan(models.Model):
    """
    What the notice names: a product's lots from one to another, or serial numbers among them.

    Two makers' lots of the same number are two products and so two spans: never one.
    """

    case = models.ForeignKey(RecallCase, on_delete=models.PROTECT, related_name="spans")
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="+")
    lot_first = models.CharField("lots from", max_length=20, blank=True)
    lot_last = models.CharField("to", max_length=20, blank=True)
    serial_first = models.CharField("serial numbers from", max_length=20, blank=True)
    serial_last = models.CharField("to", max_length=20, blank=True)
    # None in a drill, and until the stock is stopped.
    quarantine = models.OneToOneField(
        Quarantine, on_delete=models.PROTECT, null=True, editable=False, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(lot_first="", lot_last="") | ~Q(lot_first="") & ~Q(lot_last=""),
                name="recall_span_lots_whole",
                violation_error_message="Give the first and the last lot number.",
            ),
            models.CheckConstraint(
                condition=Q(serial_first="", serial_last="")
                | ~Q(serial_first="") & ~Q(serial_last=""),
                name="recall_span_serials_whole",
                violation_error_message="Give the first and the last serial number.",
            ),
            models.UniqueConstraint(
                fields=[
                    "case", "product", "lot_first", "lot_last", "serial_first", "serial_last",
                ],
                name="recall_span_once",
                violation_error_message="The case names this already.",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.product}, {self.numbers}"

    @property
    def numbers(self) -> str:
        """ "lot 7741", "lots A1 to A9, serial numbers 10 to 20" or "every lot"."""
        return self.as_quarantine().span

    @property
    def is_by_serial(self) -> bool:
        return bool(self.serial_first)

    def as_quarantine(self, reason: str = "") -> Quarantine:
        """The same span as a quarantine, not saved: what it names is read the same way by both."""
        return Quarantine(
            product=self.product,
            lot_first=self.lot_first,
            lot_last=self.lot_last,
            serial_first=self.serial_first,
            serial_last=self.serial_last,
            reason=reason,
        )
