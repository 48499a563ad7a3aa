"""The waiting list: who waits for what, which times came free, and who was offered them."""

from datetime import timedelta
from itertools import groupby

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone

from clinic.policy.validators import validate_open_weekdays
from clinic.sites.models import Site
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import LONGEST_MINUTES, STEP_MINUTES, whole_steps
from planning.waiting import EVERY_DAY, DayPart
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.waiting_list.enums import Answer, Outcome

MOST_NOTICE_HOURS = 14 * 24
SHORT_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def every_day() -> list[int]:
    return sorted(EVERY_DAY)


def in_runs(weekdays: list[int]) -> str:
    """ "Mon to Fri", "Mon, Tue", "Mon to Wed, Sat": three or more that follow each other as one."""
    runs = [
        [number for _, number in run]
        for _, run in groupby(enumerate(weekdays), key=lambda each: each[1] - each[0])
    ]
    return ", ".join(
        f"{SHORT_DAYS[run[0] - 1]} to {SHORT_DAYS[run[-1] - 1]}"
        if len(run) > 2
        else ", ".join(SHORT_DAYS[number - 1] for number in run)
        for run in runs
    )


def _staff(related_name: str = "+", *, may_be_empty: bool = False) -> models.ForeignKey:
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=may_be_empty, blank=may_be_empty,
        editable=False, related_name=related_name,
    )  # fmt: skip


class WaitingEntryQuerySet(models.QuerySet):
    def standing(self):
        return self.filter(closed_at__isnull=True)

    def unoffered(self):
        """Without an offer that is still open."""
        return self.exclude(Exists(Offer.objects.open().filter(entry=OuterRef("pk"))))

    def in_order(self):
        """As `planning.waiting.in_order` has it: urgent ones first, then by how long they wait."""
        return self.order_by("-is_urgent", "added_at", "id")

    def with_people(self):
        return self.select_related("patient", "practitioner", "site", "urgent_by")


class WaitingEntry(models.Model):
    """
    A patient who waits for one kind of visit, and what suits.

    Standing until it is closed: booked, with its appointment, or gone, with the reason. Whether it
    is being offered a time is told by its open `Offer`.

    Attributes:
        minutes: empty for what is usual for the kind.
        practitioner, site: empty for any.
        weekdays: by ISO 8601, 1 is Monday.
        notice_hours: so long before the start they must hear of it.
    """

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="waiting_entries")
    kind = models.CharField("visit", max_length=20, choices=AppointmentKind.choices())
    minutes = models.PositiveSmallIntegerField(
        "length",
        null=True,
        blank=True,
        validators=[MinValueValidator(STEP_MINUTES), MaxValueValidator(LONGEST_MINUTES)],
    )
    practitioner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True,
        related_name="waiting_entries",
    )  # fmt: skip
    site = models.ForeignKey(
        Site, on_delete=models.PROTECT, null=True, blank=True, related_name="waiting_entries"
    )
    first_on = models.DateField("earliest day")
    last_on = models.DateField("latest day", null=True, blank=True)
    weekdays = models.JSONField(default=every_day, validators=[validate_open_weekdays])
    part = models.CharField(
        "part of the day", max_length=10, choices=DayPart.choices(), default=DayPart.ANY
    )
    notice_hours = models.PositiveSmallIntegerField(
        "notice needed", default=24, validators=[MaxValueValidator(MOST_NOTICE_HOURS)]
    )
    is_urgent = models.BooleanField("urgent", default=False)
    urgent_reason = models.CharField("why it is urgent", max_length=200, blank=True)
    urgent_by = _staff(may_be_empty=True)
    note = models.CharField(max_length=200, blank=True, help_text="Nothing clinical.")
    added_at = models.DateTimeField("waits since", editable=False)
    added_by = _staff()
    closed_at = models.DateTimeField(null=True, editable=False)
    closed_by = _staff(may_be_empty=True)
    outcome = models.CharField(max_length=10, choices=Outcome.choices(), blank=True, editable=False)
    reason = models.CharField(max_length=200, blank=True, editable=False)
    appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, null=True, editable=False, related_name="+"
    )

    objects = WaitingEntryQuerySet.as_manager()

    class Meta:
        app_label = "records"
        verbose_name = "waiting list entry"
        verbose_name_plural = "waiting list entries"
        ordering = ["added_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["patient", "kind"],
                condition=Q(closed_at__isnull=True),
                name="waiting_once_a_kind",
                violation_error_message="The patient waits for this kind of visit already.",
            ),
            models.CheckConstraint(
                condition=Q(last_on__isnull=True) | Q(last_on__gte=F("first_on")),
                name="waiting_last_after_first",
                violation_error_message="The latest day lies before the earliest day.",
            ),
            models.CheckConstraint(
                condition=Q(minutes__isnull=True) | Q(minutes__gt=0) & whole_steps("minutes"),
                name="waiting_minutes_in_steps",
            ),
            models.CheckConstraint(
                condition=Q(part__in=[part.value for part in DayPart]),
                name="waiting_part_is_known",
            ),
            models.CheckConstraint(
                condition=Q(is_urgent=False, urgent_by__isnull=True, urgent_reason="")
                | Q(is_urgent=True, urgent_by__isnull=False) & ~Q(urgent_reason=""),
                name="waiting_urgent_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True, outcome="", reason="", appointment__isnull=True)
                | Q(closed_at__isnull=False, outcome=Outcome.BOOKED, appointment__isnull=False)
                | Q(closed_at__isnull=False, outcome=Outcome.GONE, appointment__isnull=True)
                & ~Q(reason=""),
                name="waiting_closed_with_outcome",
            ),
        ]
        indexes = [
            models.Index(
                fields=["-is_urgent", "added_at", "id"],
                name="waiting_in_order",
                condition=Q(closed_at__isnull=True),
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} for {self.patient}"

    @property
    def is_standing(self) -> bool:
        return self.closed_at is None

    @property
    def days_waiting(self) -> int:
        return (timezone.localdate() - timezone.localdate(self.added_at)).days

    @property
    def is_over(self) -> bool:
        """The last day that suits has passed."""
        return self.last_on is not None and self.last_on < timezone.localdate()

    @property
    def when_text(self) -> str:
        """ "Mon, Tue, mornings", "Any day, afternoons"; "Any time" if all suits."""
        named = "" if len(self.weekdays) == len(SHORT_DAYS) else in_runs(self.weekdays)
        if self.part == DayPart.ANY:
            return named or "Any time"
        return f"{named or 'Any day'}, {DayPart(self.part).label.lower()}s"

    @property
    def notice_text(self) -> str:
        """ "comes at once", "6 hours' notice", "1 day's notice"."""
        hours = self.notice_hours
        if not hours:
            return "comes at once"
        count, unit = (hours // 24, "day") if hours % 24 == 0 else (hours, "hour")
        return f"{count} {unit}s’ notice" if count > 1 else f"{count} {unit}’s notice"


class FreedTime(models.Model):
    """
    A time that an appointment let go of before it came; the latest if it happened again.

    Whether it is still free and who fits is looked up when somebody asks. `left_at`: the desk wants
    it offered to nobody.
    """

    appointment = models.ForeignKey(Appointment, on_delete=models.PROTECT, related_name="+")
    practitioner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    starts_at = models.DateTimeField("start")
    minutes = models.PositiveSmallIntegerField()
    freed_at = models.DateTimeField()
    freed_by = _staff(may_be_empty=True)
    left_at = models.DateTimeField(null=True, editable=False)
    left_by = _staff(may_be_empty=True)

    class Meta:
        app_label = "records"
        ordering = ["starts_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["starts_at", "practitioner"], name="freed_time_once"),
            models.CheckConstraint(condition=Q(minutes__gt=0), name="freed_time_takes_time"),
        ]

    def __str__(self) -> str:
        return f"{timezone.localtime(self.starts_at):%Y-%m-%d %H:%M} with {self.practitioner}"

    @property
    def ends_at(self):
        return self.starts_at + timedelta(minutes=self.minutes)


class OfferQuerySet(models.QuerySet):
    def open(self):
        """Not answered yet."""
        return self.filter(answered_at__isnull=True)

    def ended(self, now):
        """Open, and nobody answered in time."""
        return self.open().filter(appointment__held_until__lte=now)

    def not_taken(self):
        """Those who were asked declined, or did not answer in time."""
        return self.filter(answer__in=[answer for answer in Answer if answer.leads_on])

    def with_people(self):
        return self.select_related(
            "entry__patient",
            "appointment__practitioner",
            "appointment__room",
            "freed",
            "offered_by",
        )


class Offer(models.Model):
    """
    A freed time offered to somebody who waits; `appointment` holds it until it is answered.

    Answered once. `offered_by` is empty where the next in order was offered it by itself,
    `answered_by` where nobody of the clinic did.
    """

    entry = models.ForeignKey(WaitingEntry, on_delete=models.PROTECT, related_name="offers")
    freed = models.ForeignKey(FreedTime, on_delete=models.PROTECT, related_name="offers")
    appointment = models.OneToOneField(
        Appointment, on_delete=models.PROTECT, related_name="waiting_offer"
    )
    offered_at = models.DateTimeField()
    offered_by = _staff(may_be_empty=True)
    answer = models.CharField(max_length=10, choices=Answer.choices(), blank=True)
    answered_at = models.DateTimeField(null=True)
    answered_by = _staff(may_be_empty=True)
    reason = models.CharField(max_length=200, blank=True)

    objects = OfferQuerySet.as_manager()

    class Meta:
        app_label = "records"
        verbose_name = "waiting list offer"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["entry"], condition=Q(answered_at__isnull=True), name="offer_one_open"
            ),
            models.CheckConstraint(
                condition=Q(answered_at__isnull=True, answer="")
                | Q(answered_at__isnull=False) & Q(answer__in=[answer.value for answer in Answer]),
                name="offer_answered_by_a_word",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.appointment} to {self.entry.patient}"

    @property
    def is_open(self) -> bool:
        return self.answered_at is None
