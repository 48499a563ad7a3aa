"""Patients, the words they are found by, and their alerts."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from clinic.access.rules import reads_clinical
from clinic.database.fields import FoldedField
from records.patients.enums import AlertKind, AlertLevel, Channel, Sex


class Patient(models.Model):
    """A person the clinic treats. The name is kept as the person writes it."""

    record_number = models.CharField(max_length=12, unique=True, editable=False)
    full_name = models.CharField("name", max_length=200, help_text="As the patient writes it.")
    known_as = models.CharField(max_length=100, blank=True)
    birth_date = models.DateField("date of birth")
    sex = models.CharField(max_length=12, choices=Sex.choices(), default=Sex.NOT_STATED)
    phone = models.CharField(max_length=40, blank=True)
    # The last nine digits backwards, so that "ends with" is an index range.
    phone_tail = FoldedField(max_length=9, blank=True, editable=False)
    email = models.EmailField("e-mail", blank=True)
    address = models.TextField(blank=True)
    preferred_channel = models.CharField(
        max_length=10, choices=Channel.choices(), default=Channel.PHONE
    )
    # By which of these the patient may be written to; who asked and when, `ContactConsent` tells.
    agrees_to_email = models.BooleanField("e-mail", default=False)
    agrees_to_sms = models.BooleanField("text message", default=False)
    weight_g = models.PositiveIntegerField(
        "weight", null=True, blank=True, help_text="Grams; needed by limits per body weight."
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        app_label = "records"
        ordering = ["full_name", "id"]
        indexes = [
            models.Index(fields=["birth_date"], name="patient_by_birth_date"),
            models.Index(
                fields=["phone_tail"], name="patient_by_phone_tail", condition=~Q(phone_tail="")
            ),
            models.Index(Lower("email"), name="patient_by_email", condition=~Q(email="")),
        ]

    def __str__(self) -> str:
        return self.full_name


class PatientWord(models.Model):
    """
    One folded word of a patient's name, for finding a patient by parts in any order.

    `name_key` holds all words of the same name, a blank before each: the index alone puts the hits
    in order and tests the further words that are typed. It is cut where an index row would become
    too long for PostgreSQL (a third of a page, 2,700 bytes).
    """

    NAME_KEY_LENGTH = 400

    # The constraint's index begins with the patient and serves the foreign key as well.
    patient = models.ForeignKey(
        Patient, on_delete=models.CASCADE, related_name="words", db_index=False
    )
    word = FoldedField(max_length=100)
    name_key = FoldedField(max_length=NAME_KEY_LENGTH)

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(fields=["patient", "word"], name="patient_word_once")
        ]
        indexes = [
            models.Index(fields=["word", "name_key", "patient"], name="patient_by_word"),
        ]

    def __str__(self) -> str:
        return self.word


class ContactConsent(models.Model):
    """One time a patient said whether they may be written to by a channel. Rows are only added."""

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="contact_consents")
    channel = models.CharField(max_length=10, choices=Channel.choices())
    agreed = models.BooleanField()
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["-asked_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(channel__in=[Channel.EMAIL.value, Channel.SMS.value]),
                name="contact_consent_is_about_writing",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_channel_display()}: {'agreed' if self.agreed else 'not agreed'}"


class AlertQuerySet(models.QuerySet):
    def current(self):
        return self.filter(ended_at__isnull=True)

    def ended(self):
        return self.filter(ended_at__isnull=False)

    def noted(self):
        """
        Those that staff wrote down, which everyone reads. What a patient's answers raised repeats
        the answers and is for who reads clinical detail; it is known by its reverse name.
        """
        return self.filter(raised_by__isnull=True)

    def from_answers(self):
        return self.filter(raised_by__isnull=False)

    def seen_by(self, user):
        """Those whose words `user` reads."""
        return self if reads_clinical(user) else self.noted()


class Alert(models.Model):
    """An allergy or another thing whoever treats the patient must see. Ended, never deleted."""

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="alerts")
    kind = models.CharField(max_length=10, choices=AlertKind.choices())
    level = models.CharField(max_length=10, choices=AlertLevel.choices())
    text = models.CharField(max_length=300)
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, editable=False)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        editable=False,
    )
    end_reason = models.CharField(max_length=300, blank=True, editable=False)

    objects = AlertQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["patient"],
                condition=Q(kind=AlertKind.NONE_KNOWN.value, ended_at__isnull=True),
                name="alert_none_known_once",
            )
        ]

    def __str__(self) -> str:
        return self.text

    @property
    def is_loud(self) -> bool:
        """Shown wherever the patient is shown, not on the record alone."""
        return AlertLevel(self.level).is_loud
