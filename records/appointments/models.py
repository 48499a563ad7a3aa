"""Appointments."""

from datetime import date, datetime, time, timedelta

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from records.appointments.enums import AppointmentKind, AppointmentState
from records.patients.models import Patient

LONGEST_MINUTES = 480
HOLDING_TIME = [state for state in AppointmentState if state.takes_place]


def start_of(day: date) -> datetime:
    """The moment `day` begins in the clinic's time zone."""
    return datetime.combine(day, time.min, tzinfo=timezone.get_current_timezone())


class AppointmentQuerySet(models.QuerySet):
    def taking_place(self):
        """Those that still hold their time."""
        return self.filter(state__in=HOLDING_TIME)

    def on(self, day: date):
        """Those that start on `day` in the clinic's time zone (a range, so that an index helps)."""
        following = start_of(day + timedelta(days=1))
        return self.filter(starts_at__gte=start_of(day), starts_at__lt=following)

    def with_people(self):
        # The session of the visit by its reverse name: this module knows nothing of sessions.
        return self.select_related("patient", "practitioner", "session")


class Appointment(models.Model):
    """A booked time of one patient with one practitioner."""

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="appointments")
    practitioner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="appointments"
    )
    kind = models.CharField(max_length=14, choices=AppointmentKind.choices())
    starts_at = models.DateTimeField("start")
    minutes = models.PositiveSmallIntegerField(
        default=30, validators=[MinValueValidator(5), MaxValueValidator(LONGEST_MINUTES)]
    )
    state = models.CharField(
        max_length=14,
        choices=AppointmentState.choices(),
        default=AppointmentState.BOOKED,
        editable=False,
    )
    note = models.CharField(max_length=200, blank=True, help_text="Nothing clinical.")
    cancel_reason = models.CharField(max_length=200, blank=True, editable=False)

    objects = AppointmentQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["starts_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(minutes__gt=0), name="appointment_takes_time"),
            # Whoever looks for overlaps looks back this far and no further.
            models.CheckConstraint(
                condition=Q(minutes__lte=LONGEST_MINUTES), name="appointment_ends_within_a_day"
            ),
            models.CheckConstraint(
                condition=~Q(state=AppointmentState.CANCELLED) | ~Q(cancel_reason=""),
                name="appointment_cancelled_with_reason",
                violation_error_message="Say why the appointment is cancelled.",
            ),
        ]
        indexes = [
            models.Index(fields=["practitioner", "starts_at"], name="appointment_by_practitioner"),
            models.Index(fields=["starts_at"], name="appointment_by_start"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {timezone.localtime(self.starts_at):%Y-%m-%d %H:%M}"

    @property
    def ends_at(self) -> datetime:
        return self.starts_at + timedelta(minutes=self.minutes)

    @property
    def badge(self) -> str:
        return AppointmentState(self.state).badge

    @property
    def is_to_come(self) -> bool:
        """Booked or arrived: the visit is still ahead or under way."""
        return self.state in (AppointmentState.BOOKED, AppointmentState.ARRIVED)

    @property
    def day_has_come(self) -> bool:
        """What became of it can be said from the day itself on."""
        return timezone.localdate(self.starts_at) <= timezone.localdate()
