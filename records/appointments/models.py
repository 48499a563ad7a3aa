"""Appointments."""

from datetime import date, datetime, time, timedelta

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import (
    LONGEST_BUFFER_MINUTES,
    LONGEST_MINUTES,
    STEP_MINUTES,
    whole_steps,
)
from records.appointments.enums import AppointmentState
from records.patients.models import Patient

HOLDING_TIME = [state for state in AppointmentState if state.takes_place]
# Kinds of visit that end with a session.
TREATS = (AppointmentKind.TREATMENT, AppointmentKind.TOP_UP)
AGREED = [state for state in AppointmentState if state.is_agreed]


def start_of(day: date) -> datetime:
    """The moment `day` begins in the clinic's time zone."""
    return datetime.combine(day, time.min, tzinfo=timezone.get_current_timezone())


def _is_today(moment: datetime) -> bool:
    return timezone.localdate(moment) == timezone.localdate()


class AppointmentQuerySet(models.QuerySet):
    def taking_place(self):
        """Those that still hold their time."""
        return self.filter(state__in=HOLDING_TIME)

    def agreed(self):
        """Those that still take place, less times that are only offered."""
        return self.filter(state__in=AGREED)

    def on(self, day: date):
        """Those that start on `day` in the clinic's time zone (a range, so that an index helps)."""
        following = start_of(day + timedelta(days=1))
        return self.filter(starts_at__gte=start_of(day), starts_at__lt=following)

    def with_people(self):
        # The session of the visit by its reverse name: this module knows nothing of sessions.
        return self.select_related("patient", "practitioner", "room", "session")

    def with_site(self):
        """For whoever names where it takes place."""
        return self.select_related("site", "room__site")


class Appointment(models.Model):
    """
    A booked time of one patient with one practitioner, in a room where the kind needs one.

    Practitioner and room are held from `preparation_minutes` before the start to `buffer_minutes`
    after the end, the patient from start to end; `HeldCell` holds them.

    Attributes:
        series: the same for the appointments that were booked together.
        late_minutes: the patient called to come so much later; the time stays as booked.
        held_until: when an offered time is free again.
    """

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="appointments")
    practitioner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="appointments"
    )
    site = models.ForeignKey(
        Site, on_delete=models.PROTECT, null=True, blank=True, related_name="appointments"
    )
    room = models.ForeignKey(
        Room, on_delete=models.PROTECT, null=True, blank=True, related_name="appointments"
    )
    kind = models.CharField(max_length=20, choices=AppointmentKind.choices())
    starts_at = models.DateTimeField("start")
    minutes = models.PositiveSmallIntegerField(
        default=30,
        validators=[MinValueValidator(STEP_MINUTES), MaxValueValidator(LONGEST_MINUTES)],
    )
    preparation_minutes = models.PositiveSmallIntegerField(default=0, editable=False)
    buffer_minutes = models.PositiveSmallIntegerField(default=0, editable=False)
    state = models.CharField(
        max_length=14,
        choices=AppointmentState.choices(),
        default=AppointmentState.BOOKED,
        editable=False,
    )
    note = models.CharField(max_length=200, blank=True, help_text="Nothing clinical.")
    cancel_reason = models.CharField(max_length=200, blank=True, editable=False)
    series = models.UUIDField(null=True, editable=False)
    late_minutes = models.PositiveSmallIntegerField(default=0, editable=False)
    held_until = models.DateTimeField(null=True, editable=False)
    changed_at = models.DateTimeField(auto_now=True)

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
                condition=whole_steps("preparation_minutes", "buffer_minutes")
                & Q(preparation_minutes__lte=LONGEST_BUFFER_MINUTES)
                & Q(buffer_minutes__lte=LONGEST_BUFFER_MINUTES),
                name="appointment_buffers_in_steps",
            ),
            models.CheckConstraint(
                condition=Q(state=AppointmentState.OFFERED, held_until__isnull=False)
                | ~Q(state=AppointmentState.OFFERED) & Q(held_until__isnull=True),
                name="appointment_offered_until",
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
            models.Index(
                fields=["series"], name="appointment_by_series", condition=Q(series__isnull=False)
            ),
            models.Index(
                fields=["held_until"],
                name="appointment_offers",
                condition=Q(held_until__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {timezone.localtime(self.starts_at):%Y-%m-%d %H:%M}"

    def save(self, *args, update_fields=None, **kwargs) -> None:
        # Pages that show the diary ask when it last changed.
        if update_fields is not None:
            update_fields = {*update_fields, "changed_at"}
        super().save(*args, update_fields=update_fields, **kwargs)

    @property
    def ends_at(self) -> datetime:
        return self.starts_at + timedelta(minutes=self.minutes)

    @property
    def visit_site(self) -> Site | None:
        """Its own, or that of its room."""
        return self.site or (self.room.site if self.room else None)

    @property
    def badge(self) -> str:
        return AppointmentState(self.state).badge

    @property
    def is_to_come(self) -> bool:
        return AppointmentState(self.state).is_to_come

    @property
    def is_offer(self) -> bool:
        return self.state == AppointmentState.OFFERED

    @property
    def misses_session(self) -> bool:
        """A visit under way at which somebody is treated, and nothing is written down of it."""
        return self.is_to_come and self.kind in TREATS and not hasattr(self, "session")

    @property
    def has_begun(self) -> bool:
        """The start has passed."""
        return self.starts_at < timezone.now()

    @property
    def is_late(self) -> bool:
        """The start has passed, and the patient is not here."""
        return self.state == AppointmentState.BOOKED and self.has_begun

    @property
    def can_be_undone(self) -> bool:
        """Marked as done by a slip, as long as it is the same day and no session hangs on it."""
        return (
            self.state == AppointmentState.DONE and self.is_today and not hasattr(self, "session")
        )

    @property
    def undone_to(self) -> AppointmentState | None:
        """The state to which a slip of today is taken back, if it still can be."""
        if self.can_be_undone:
            return AppointmentState.ARRIVED
        # A time that was only offered was agreed by nobody.
        was_offer = hasattr(self, "waiting_offer")
        if self.state == AppointmentState.CANCELLED and _is_today(self.changed_at):
            return None if was_offer else AppointmentState.BOOKED
        return None

    @property
    def is_today(self) -> bool:
        return _is_today(self.starts_at)

    @property
    def day_has_come(self) -> bool:
        """What became of it can be said from the day itself on."""
        return timezone.localdate(self.starts_at) <= timezone.localdate()


def cells_of(appointment: Appointment) -> tuple[range, range]:
    """The cells for which practitioner and room are held, and those of the patient."""
    return cells_at(
        int(appointment.starts_at.timestamp()),
        appointment.minutes,
        appointment.preparation_minutes,
        appointment.buffer_minutes,
    )


def cells_at(
    seconds: int, minutes: int, preparation_minutes: int, buffer_minutes: int
) -> tuple[range, range]:
    """As `cells_of`, of an appointment's columns; `seconds` from 1970 (UTC) to its start."""
    start = seconds // 60
    end = start + minutes
    first, last = start - preparation_minutes, end + buffer_minutes
    return (
        range(first // STEP_MINUTES, -(-last // STEP_MINUTES)),
        range(start // STEP_MINUTES, -(-end // STEP_MINUTES)),
    )


class HeldCell(models.Model):
    """
    Five minutes of a practitioner, a room and a patient that one appointment holds.

    Written by triggers on the appointment alone, so a double booking is refused whatever path it
    comes by. `cell` counts the five minutes since 1970 (UTC), so clock changes do not touch it.
    Room and practitioner are held for preparation and buffer as well; `patient` is empty there.
    """

    appointment = models.ForeignKey(Appointment, on_delete=models.CASCADE, related_name="cells")
    cell = models.BigIntegerField()
    # The constraints' indexes begin with them and serve the foreign keys as well.
    practitioner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    room = models.ForeignKey(
        Room, on_delete=models.PROTECT, related_name="+", null=True, db_index=False
    )
    patient = models.ForeignKey(
        Patient, on_delete=models.PROTECT, related_name="+", null=True, db_index=False
    )

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(fields=["practitioner", "cell"], name="held_practitioner_once"),
            models.UniqueConstraint(fields=["room", "cell"], name="held_room_once"),
            models.UniqueConstraint(fields=["patient", "cell"], name="held_patient_once"),
        ]

    def __str__(self) -> str:
        return f"{self.cell}: {self.practitioner_id}, {self.room_id}, {self.patient_id}"
