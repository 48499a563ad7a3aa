"""Messages to patients about their visits, each sent once, and what patients answer."""

from datetime import datetime, timedelta

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from clinic.staff.models import User
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.reminders.enums import AnswerKind, MessageKind, MessageRoute, MessageState
from records.reviews.models import Review

MOST_ANSWERS = 20
NOTE_LENGTH = 500
LONGEST_SUBJECT = 300


class ReminderPolicy(models.Model):
    """
    The one row of what the clinic decided about messages. Off until the owner turns it on; quiet
    hours are the clinic's policy, for offers hold to them too.
    """

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    is_on = models.BooleanField("send messages", default=False)
    confirms = models.BooleanField("confirm bookings, changes and cancellations", default=True)
    reminds = models.BooleanField("remind of visits to come", default=True)
    hours_before = models.PositiveSmallIntegerField(
        "remind so long before",
        default=24,
        validators=[MinValueValidator(1), MaxValueValidator(336)],
    )
    # Off: somebody has to be there for the answers.
    checks_in = models.BooleanField(
        "ask the day after a treatment how the patient is", default=False
    )

    class Meta:
        app_label = "records"
        constraints = [models.CheckConstraint(condition=Q(id=1), name="reminder_policy_is_one_row")]

    def __str__(self) -> str:
        return "on" if self.is_on else "off"

    @property
    def before(self) -> timedelta:
        return timedelta(hours=self.hours_before)


class MessageTemplate(models.Model):
    """The clinic's own words for a kind of message by one route; see `wording.DEFAULTS`."""

    kind = models.CharField(max_length=14, choices=MessageKind.choices())
    route = models.CharField(max_length=5, choices=MessageRoute.choices())
    subject = models.CharField(max_length=120, blank=True)
    text = models.TextField(max_length=2000)

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(fields=["kind", "route"], name="message_template_once"),
            models.CheckConstraint(condition=~Q(text=""), name="message_template_says_something"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.get_route_display()}"


_LISTED = (
    "kind", "patient__full_name", "patient__record_number", "starts_at", "due_at", "state",
    "next_try_at", "at", "route", "recipient", "subject", "text", "problem", "outcome",
    "settled_by__full_name",
)  # fmt: skip


class MessageQuerySet(models.QuerySet):
    def waiting(self):
        return self.filter(state=MessageState.WAITING)

    def telling_the_time(self):
        """What told, or will tell, the patient when to come."""
        kinds = [kind for kind in MessageKind if kind.tells_the_time]
        return self.filter(kind__in=kinds).exclude(state=MessageState.WITHDRAWN)

    def listed(self):
        """With what a list of messages shows, and of people their names alone."""
        return self.select_related("patient", "settled_by").only(*_LISTED)

    def with_people(self):
        return self.select_related("patient", "appointment__practitioner", "settled_by")


class Message(models.Model):
    """
    One message to one patient.

    `key` says what it tells, so that the same is written once; `reference` is the name by which a
    back end knows it. Route, recipient and words are those of its latest sending; in the words
    `{link}` stands for the patient's link, which is kept nowhere but as a digest.
    """

    key = models.CharField(max_length=100, unique=True)
    reference = models.CharField(max_length=32, unique=True)
    kind = models.CharField(max_length=14, choices=MessageKind.choices())
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="messages")
    appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, null=True, related_name="messages"
    )
    review = models.ForeignKey(Review, on_delete=models.PROTECT, null=True, related_name="+")
    # The time it tells; the appointment may have another one by now.
    starts_at = models.DateTimeField(null=True)
    written_at = models.DateTimeField()
    written_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    # Not before, and no more from then on.
    due_at = models.DateTimeField()
    until = models.DateTimeField()
    state = models.CharField(
        max_length=13, choices=MessageState.choices(), default=MessageState.WAITING
    )
    next_try_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    # Since when it is being sent, or when it was.
    at = models.DateTimeField(null=True)
    route = models.CharField(max_length=5, choices=MessageRoute.choices(), blank=True)
    recipient = models.CharField(max_length=254, blank=True)
    subject = models.CharField(max_length=LONGEST_SUBJECT, blank=True)
    text = models.TextField(blank=True)
    problem = models.CharField(max_length=300, blank=True)
    token_digest = models.CharField(max_length=64, unique=True)
    settled_at = models.DateTimeField(null=True)
    settled_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    outcome = models.CharField(max_length=60, blank=True)

    objects = MessageQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-due_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in MessageKind]),
                name="message_kind_is_known",
            ),
            models.CheckConstraint(
                condition=Q(state__in=[state.value for state in MessageState]),
                name="message_state_is_known",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=["sending", "sent", "unsure"])
                | (Q(at__isnull=False) & Q(route__in=["email", "sms"]) & ~Q(recipient="")),
                name="message_sent_says_when_and_where",
            ),
            models.CheckConstraint(
                condition=~Q(state="settled")
                | (Q(settled_at__isnull=False) & Q(settled_by__isnull=False)),
                name="message_settled_says_by_whom",
            ),
        ]
        indexes = [
            models.Index(
                fields=["next_try_at"], condition=Q(state="waiting"), name="message_waiting"
            ),
            models.Index(fields=["at"], condition=Q(state="sending"), name="message_sending"),
            models.Index(
                fields=["state"],
                condition=Q(state__in=["to_call", "undeliverable", "unsure"]),
                name="message_to_settle",
            ),
            models.Index(fields=["-due_at", "-id"], name="message_by_due"),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.reference}: {self.get_state_display()}"

    @property
    def badge(self) -> str:
        return MessageState(self.state).badge

    @property
    def is_about_what_holds(self) -> bool:
        """
        Whether what it tells is so: a visit still booked for that time, or really cancelled; a
        review that is open and has no visit to come. States
        this module does not know are none of both.
        """
        if self.review is not None:
            return self.review.closed_at is None and not has_a_visit_to_come(self.review)
        if self.appointment is None:
            return True
        if self.kind == MessageKind.CANCELLED:
            return self.appointment.state == AppointmentState.CANCELLED
        if self.kind == MessageKind.OFFER:
            return self.appointment.state == AppointmentState.OFFERED
        return is_booked_for(self.appointment, self.starts_at)


class Answer(models.Model):
    """What a patient said by a link; the latest about an appointment's time holds."""

    message = models.ForeignKey(Message, on_delete=models.PROTECT, related_name="answers")
    appointment = models.ForeignKey(Appointment, on_delete=models.PROTECT, related_name="answers")
    starts_at = models.DateTimeField()
    kind = models.CharField(max_length=7, choices=AnswerKind.choices())
    note = models.CharField(max_length=NOTE_LENGTH, blank=True)
    at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True)
    settled_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        app_label = "records"
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in AnswerKind]),
                name="answer_kind_is_known",
            ),
        ]
        indexes = [models.Index(fields=["appointment", "-at"], name="answer_by_appointment")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} ({timezone.localtime(self.at):%Y-%m-%d %H:%M})"


def is_booked_for(appointment: Appointment, starts_at: datetime | None) -> bool:
    return appointment.state == AppointmentState.BOOKED and appointment.starts_at == starts_at


def has_a_visit_to_come(review: Review) -> bool:
    """Whether nobody has to be invited to it any more."""
    visit = review.appointment
    return (
        visit is not None
        and visit.state == AppointmentState.BOOKED
        and visit.starts_at > timezone.now()
    )
