"""What other calendars were told of an appointment, and the addresses of people's diaries."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from records.appointments.models import Appointment


class CalendarEntry(models.Model):
    """
    An appointment as calendars outside the clinic know it, as it was told last.

    Attributes:
        uid: says nothing of the appointment; never changes.
        sequence: rises whenever time, place or whether it takes place has changed (RFC 5545,
            section 3.8.7.4).
        said_at: when this state was first told.
    """

    appointment = models.OneToOneField(
        Appointment, on_delete=models.PROTECT, related_name="calendar_entry"
    )
    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    sequence = models.PositiveIntegerField(default=0)
    starts_at = models.DateTimeField()
    minutes = models.PositiveSmallIntegerField()
    place = models.TextField(blank=True)
    is_cancelled = models.BooleanField(default=False)
    said_at = models.DateTimeField()

    class Meta:
        app_label = "records"

    def __str__(self) -> str:
        return f"{self.uid}, sequence {self.sequence}"


class CalendarFeedQuerySet(models.QuerySet):
    def alive(self):
        """Those that answer: not revoked, and of people who still see patients here."""
        return self.filter(
            revoked_at__isnull=True, person__is_active=True, person__is_injector=True
        )


class CalendarFeed(models.Model):
    """
    The secret address at which a person's diary is read, by whoever knows it.

    Attributes:
        secret_digest: SHA-256 of the secret, which is told once and kept nowhere.
        content_digest: of what was read last, to say since when it is so (`content_since`).
        revoked_by: empty where the person's leaving ended it.
    """

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="calendar_feeds"
    )
    secret_digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    revoked_at = models.DateTimeField(null=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    fetched_at = models.DateTimeField(null=True)
    content_digest = models.CharField(max_length=64, blank=True)
    content_since = models.DateTimeField(null=True)

    objects = CalendarFeedQuerySet.as_manager()

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(
                fields=["person"],
                condition=Q(revoked_at__isnull=True),
                name="calendar_feed_one_a_person",
            ),
            models.CheckConstraint(
                condition=Q(revoked_by__isnull=True) | Q(revoked_at__isnull=False),
                name="calendar_feed_revoked_at_a_time",
            ),
        ]

    def __str__(self) -> str:
        return f"Calendar of {self.person_id}"
