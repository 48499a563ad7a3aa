"""Patients, the words they are found by, and their alerts."""

from django.conf import settings
from django.db import models
from django.db.models import Q

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
        ]

    def __str__(self) -> str:
        return self.full_name


class PatientWord(models.Model):
    """One folded word of a patient's name, for finding a patient by parts in any order."""

    patient = models.ForeignKey(Patient, on_delete=models.CASCADE, related_name="words")
    word = FoldedField(max_length=100)

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(fields=["word", "patient"], name="patient_word_once")
        ]

    def __str__(self) -> str:
        return self.word


class AlertQuerySet(models.QuerySet):
    def current(self):
        return self.filter(ended_at__isnull=True)


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

    objects = AlertQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]

    def __str__(self) -> str:
        return self.text
