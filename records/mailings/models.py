"""The same text to many patients: letters to print and e-mails to send, each exactly once."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from records.mailings.enums import MailingChannel, MailingState
from records.patients.models import Patient


class MailTemplate(models.Model):
    """A text of the clinic's own, with {placeholders}. Sent mailings keep their own copy."""

    name = models.CharField(max_length=100, unique=True)
    subject = models.CharField(
        max_length=200, help_text="Of an e-mail too, so nothing about a person or a product."
    )
    body = models.TextField()
    is_active = models.BooleanField("in use", default=True)

    class Meta:
        app_label = "records"
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(subject="") & ~Q(body=""), name="mail_template_says_something"
            )
        ]

    def __str__(self) -> str:
        return self.name


class Mailing(models.Model):
    """
    One run over many patients, with the text as it stood when the run was started.

    A rehearsal is written, and never printed with an address or sent.
    """

    channel = models.CharField(max_length=10, choices=MailingChannel.choices())
    purpose = models.CharField(max_length=200)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    is_rehearsal = models.BooleanField(default=False)
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    finished_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        app_label = "records"
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(channel__in=[channel.value for channel in MailingChannel]),
                name="mailing_channel_is_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_channel_display()}: {self.purpose}"


class MailingItem(models.Model):
    """One patient of a mailing: each once. `batch` is the file that a letter is printed in."""

    mailing = models.ForeignKey(Mailing, on_delete=models.PROTECT, related_name="items")
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="+")
    # What the placeholders of this patient's copy stand for, as JSON.
    words = models.JSONField(default=dict)
    position = models.PositiveIntegerField()
    batch = models.PositiveIntegerField(null=True)
    state = models.CharField(
        max_length=10, choices=MailingState.choices(), default=MailingState.WAITING
    )
    at = models.DateTimeField(null=True)
    problem = models.CharField(max_length=300, blank=True)

    class Meta:
        app_label = "records"
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["mailing", "patient"], name="mailing_once_a_patient"),
            models.UniqueConstraint(fields=["mailing", "position"], name="mailing_position_once"),
            models.CheckConstraint(
                condition=Q(state__in=[state.value for state in MailingState]),
                name="mailing_state_is_known",
            ),
        ]
        indexes = [
            models.Index(
                fields=["mailing", "position"], condition=Q(state="waiting"),
                name="mailing_waiting",
            )
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.mailing_id}, {self.position}: {self.state}"


class LetterBatch(models.Model):
    """A file of letters as it was written, kept byte by byte."""

    mailing = models.ForeignKey(Mailing, on_delete=models.PROTECT, related_name="batches")
    number = models.PositiveIntegerField()
    letters = models.PositiveIntegerField()
    pdf = models.BinaryField()
    digest = models.CharField(max_length=64)
    written_at = models.DateTimeField()

    class Meta:
        app_label = "records"
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["mailing", "number"], name="letter_batch_once")
        ]

    def __str__(self) -> str:
        return f"Letters {self.number} of mailing {self.mailing_id}"
