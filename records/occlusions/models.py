"""The log of a suspected vascular occlusion: opened in one touch, then only added to."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.protocols.models import Protocol
from clinic.stock.models import UnitOfStock
from planning.atlas.regions import Region
from planning.occlusion import (
    LEAST_REASSESS_MINUTES,
    LONGEST_REFILL_TENTHS,
    MOST_REASSESS_MINUTES,
    WORST_PAIN,
    Entry,
)
from planning.vocabulary import Side
from records.adverse_events.enums import Grade
from records.adverse_events.models import AdverseEvent
from records.sessions.models import TreatmentSession


class TimedTwice(models.Model):
    """
    What a tablet wrote down, by three clocks.

    `at` is the clinic's clock at the touch, reckoned from the tablet's; `tablet_at` the tablet's
    own clock as it was; `received_at` when the server stored it.
    """

    key = models.UUIDField(unique=True, editable=False)
    at = models.DateTimeField()
    tablet_at = models.DateTimeField()
    received_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True
        app_label = "records"


class Occlusion(TimedTwice):
    """
    One log of one session, which may be signed already.

    `protocol` is the version that the tablet showed; empty for the supplied steps.
    """

    session = models.ForeignKey(
        TreatmentSession, on_delete=models.PROTECT, related_name="occlusions"
    )
    protocol = models.ForeignKey(Protocol, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta(TimedTwice.Meta):
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"Occlusion log of {self.at:%Y-%m-%d %H:%M}"


def _only_of(what: Entry, field: str, holds: Q) -> models.CheckConstraint:
    """Lines of this kind have the value, and no other line has."""
    absent = Q(**{f"{field}__isnull": True})
    # Compared with nothing, a range is neither true nor false, and a check lets that pass.
    holds = holds & ~absent
    return models.CheckConstraint(
        condition=Q(what=what.value) & holds | ~Q(what=what.value) & absent,
        name=f"occlusion_{what}_has_{field}",
    )


class OcclusionEntry(TimedTwice):
    """
    One line of a log; `what` says which of the fields it has. Lines are only added.

    Refill in tenths of a second, dose in hundredths of a unit, diluent in microlitres. `picture` is
    the key of a photograph of the session, which may still be on its way. `event` is the adverse
    event that the end of the log made.
    """

    occlusion = models.ForeignKey(Occlusion, on_delete=models.PROTECT, related_name="entries")
    what = models.CharField(max_length=20, choices=Entry.choices())
    signs = models.JSONField(default=list, blank=True)
    refill_tenths = models.PositiveSmallIntegerField("refill", null=True)
    other_tenths = models.PositiveSmallIntegerField("refill of the other side", null=True)
    pain = models.PositiveSmallIntegerField(null=True)
    dose_centiunits = models.PositiveIntegerField("dose", null=True)
    diluent_ul = models.PositiveIntegerField("diluent", null=True)
    unit = models.ForeignKey(
        UnitOfStock, on_delete=models.PROTECT, null=True, related_name="occlusion_doses"
    )
    lot = models.CharField(max_length=60, blank=True)
    region = models.CharField(max_length=40, blank=True)
    side = models.CharField(max_length=10, choices=Side.choices(), blank=True)
    place = models.CharField(max_length=120, blank=True)
    minutes = models.PositiveSmallIntegerField(null=True)
    moment = models.DateTimeField("seen at", null=True)
    picture = models.UUIDField(null=True)
    whom = models.CharField(max_length=120, blank=True)
    text = models.TextField(blank=True)
    grade = models.CharField(max_length=1, choices=Grade.choices(), blank=True)
    event = models.ForeignKey(
        AdverseEvent, on_delete=models.PROTECT, null=True, related_name="occlusion_ends"
    )

    class Meta(TimedTwice.Meta):
        ordering = ["at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(what__in=[what.value for what in Entry]),
                name="occlusion_entry_is_known",
            ),
            _only_of(
                Entry.REFILL, "refill_tenths", Q(refill_tenths__range=(1, LONGEST_REFILL_TENTHS))
            ),
            _only_of(Entry.PAIN, "pain", Q(pain__range=(0, WORST_PAIN))),
            _only_of(Entry.DOSE, "dose_centiunits", Q(dose_centiunits__gt=0)),
            _only_of(
                Entry.TIMER, "minutes",
                Q(minutes__range=(LEAST_REASSESS_MINUTES, MOST_REASSESS_MINUTES)),
            ),
            _only_of(Entry.FIRST_SIGN, "moment", Q(moment__isnull=False)),
            _only_of(Entry.PHOTO, "picture", Q(picture__isnull=False)),
            _only_of(Entry.ENDED, "event", Q(event__isnull=False)),
            models.CheckConstraint(
                condition=~Q(what=Entry.CALL.value) | ~Q(whom=""), name="occlusion_call_names_whom"
            ),
            models.CheckConstraint(
                condition=~Q(what__in=[Entry.NOTE.value, Entry.STEP.value]) | ~Q(text=""),
                name="occlusion_note_says_something",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.get_what_display()}, {self.at:%H:%M}"

    @property
    def lot_number(self) -> str:
        """Of the unit, else as it was typed; "" where nobody noted it."""
        return self.unit.lot.number if self.unit else self.lot

    @property
    def place_text(self) -> str:
        """ "Zygomatic region, left; above the marked line", or ""."""
        named = [Region(self.region).label] if self.region else []
        side = [Side(self.side).label.lower()] if self.side else []
        return "; ".join(filter(None, [", ".join([*named, *side]), self.place]))


class HandoverSheet(models.Model):
    """
    The bytes of a handover sheet, by the number of lines it holds. Never rendered twice.

    `digest` is the SHA-256 of `pdf`, and stands in the audit trail too.
    """

    occlusion = models.ForeignKey(Occlusion, on_delete=models.PROTECT, related_name="sheets")
    entries = models.PositiveIntegerField()
    pdf = models.BinaryField()
    digest = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(
                fields=["occlusion", "entries"], name="handover_once_a_number_of_lines"
            )
        ]

    def __str__(self) -> str:
        return f"Handover sheet of log {self.occlusion_id} with {self.entries} lines"
