"""Appointments."""

from datetime import datetime, timedelta

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from records.appointments.enums import AppointmentKind, AppointmentState
from records.patients.models import Patient


class AppointmentQuerySet(models.QuerySet):
    def taking_place(self):
        """Those that still hold their time."""
        gone = [AppointmentState.CANCELLED, AppointmentState.DID_NOT_ATTEND]
        return self.exclude(state__in=gone)

    def on(self, day):
        """Those that start on `day`, a date in the clinic's time zone."""
        return self.filter(starts_at__date=day)


class Appointment(models.Model):
    """A booked time of one patient with one practitioner."""

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="appointments")
    practitioner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="appointments"
    )
    kind = models.CharField(max_length=14, choices=AppointmentKind.choices())
    starts_at = models.DateTimeField("start")
    minutes = models.PositiveSmallIntegerField(
        default=30, validators=[MinValueValidator(5), MaxValueValidator(480)]
    )
    state = models.CharField(
        max_length=14,
        choices=AppointmentState.choices(),
        default=AppointmentState.BOOKED,
        editable=False,
    )
    note = models.CharField(max_length=200, blank=True, help_text="Nothing clinical.")

    objects = AppointmentQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["starts_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(minutes__gt=0), name="appointment_takes_time")
        ]
        indexes = [
            models.Index(fields=["practitioner", "starts_at"], name="appointment_by_practitioner"),
            models.Index(fields=["starts_at"], name="appointment_by_start"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.starts_at:%Y-%m-%d %H:%M}"

    @property
    def ends_at(self) -> datetime:
        return self.starts_at + timedelta(minutes=self.minutes)
