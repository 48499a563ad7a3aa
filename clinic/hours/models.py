"""When people work, and when people or rooms are away."""

from datetime import date, datetime, time, timedelta

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from clinic.hours.enums import AbsenceKind
from clinic.rooms.models import Room
from clinic.sites.models import Site

WEEKDAYS = [
    (1, "Monday"), (2, "Tuesday"), (3, "Wednesday"), (4, "Thursday"), (5, "Friday"),
    (6, "Saturday"), (7, "Sunday"),
]  # fmt: skip


class WorkingTimeQuerySet(models.QuerySet):
    def on(self, day):
        """Those that hold on the date `day`."""
        return self.filter(
            Q(until_on__isnull=True) | Q(until_on__gte=day),
            weekday=day.isoweekday(),
            from_on__lte=day,
        )

    def not_over_by(self, day: date):
        """Those that hold on `day` or begin later."""
        return self.filter(Q(until_on__isnull=True) | Q(until_on__gte=day))

    def overlapping(self, row: "WorkingTime"):
        """Others of the same person at the same time of the same weekday, on some day of `row`."""
        others = (
            self.not_over_by(row.from_on)
            .exclude(pk=row.pk)
            .filter(
                person=row.person_id, weekday=row.weekday, starts__lt=row.ends, ends__gt=row.starts
            )
        )
        return others.filter(from_on__lte=row.until_on) if row.until_on else others


class WorkingTime(models.Model):
    """
    A span of a weekday on which a person sees patients at a site, by the clinic's clock.

    Several spans make a day; what lies between them is a break.
    """

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="working_times"
    )
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="working_times")
    weekday = models.PositiveSmallIntegerField(choices=WEEKDAYS)
    starts = models.TimeField("from")
    ends = models.TimeField("to")
    from_on = models.DateField("holds from")
    until_on = models.DateField("holds until", null=True, blank=True)

    objects = WorkingTimeQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["weekday", "starts", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends__gt=F("starts")),
                name="working_time_ends_after_start",
                violation_error_message="It ends before it starts.",
            ),
            models.CheckConstraint(
                condition=Q(until_on__isnull=True) | Q(until_on__gte=F("from_on")),
                name="working_time_until_after_from",
                violation_error_message="The last day lies before the first day.",
            ),
            models.CheckConstraint(
                condition=Q(weekday__gte=1, weekday__lte=7), name="working_time_weekday_is_known"
            ),
        ]
        indexes = [models.Index(fields=["weekday", "from_on"], name="working_time_by_weekday")]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.starts:%H:%M} to {self.ends:%H:%M}"

    @property
    def bar(self) -> tuple[int, int]:
        """Where it lies on a bar of the day: minutes after midnight, and how many."""
        start, end = (clock.hour * 60 + clock.minute for clock in (self.starts, self.ends))
        return start, end - start

    def holds_on(self, day: date) -> bool:
        """Whether it is worked on `day`."""
        is_started, is_over = self.from_on <= day, self.until_on is not None and self.until_on < day
        return self.weekday == day.isoweekday() and is_started and not is_over


def _clock(moment: datetime) -> time | None:
    """By the clinic's clock; None at midnight, where a day ends and begins."""
    clock = timezone.localtime(moment).time()
    return None if clock == time.min else clock


class AbsenceQuerySet(models.QuerySet):
    def between(self, start, end):
        """Those that cover any of the time from `start` to before `end`."""
        return self.filter(starts_at__lt=end, ends_at__gt=start)


class Absence(models.Model):
    """A span of time in which a person, or a room, is not there: leave, training, out of order."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="absences"
    )
    room = models.ForeignKey(Room, on_delete=models.PROTECT, null=True, related_name="absences")
    kind = models.CharField(max_length=14, choices=AbsenceKind.choices(), default="leave")
    starts_at = models.DateTimeField("from")
    ends_at = models.DateTimeField("until")
    note = models.CharField(max_length=200, blank=True, help_text="Seen by the front desk.")

    objects = AbsenceQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["starts_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")),
                name="absence_ends_after_start",
                violation_error_message="It ends before it starts.",
            ),
            models.CheckConstraint(
                condition=Q(person__isnull=True, room__isnull=False)
                | Q(person__isnull=False, room__isnull=True),
                name="absence_of_a_person_or_a_room",
            ),
        ]
        indexes = [models.Index(fields=["ends_at", "starts_at"], name="absence_by_end")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.starts_at:%Y-%m-%d} to {self.ends_at:%Y-%m-%d}"

    @property
    def first_day(self) -> date:
        return timezone.localdate(self.starts_at)

    @property
    def first_time(self) -> time | None:
        """None for a whole day, as in `last_time`."""
        return _clock(self.starts_at)

    @property
    def last_day(self) -> date:
        """The last day of which any time is covered."""
        return timezone.localdate(self.ends_at - timedelta(microseconds=1))

    @property
    def last_time(self) -> time | None:
        return _clock(self.ends_at)

    @property
    def in_words(self) -> str:
        """ "Out of order: new floor"."""
        return f"{self.get_kind_display()}: {self.note}" if self.note else self.get_kind_display()
