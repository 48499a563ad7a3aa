"""Who is affected, and every attempt to tell them."""

from django.conf import settings
from django.db import models
from django.db.models import Exists, OuterRef, Q

from records.adverse_events.models import AdverseEvent
from records.appointments.models import Appointment
from records.mailings.models import Mailing, MailingItem
from records.patients.enums import Channel
from records.patients.models import Patient
from records.recalls.enums import ContactOutcome, Reach
from records.recalls.models.cases import RecallCase


class CasePatientQuerySet(models.QuerySet):
    def with_reach(self):
        """Each with `is_reached` and `is_tried`, as the contacts have it."""
        contacts = CaseContact.objects.filter(person=OuterRef("pk"))
        reached = [outcome.value for outcome in ContactOutcome if outcome.has_reached]
        return self.annotate(
            is_reached=Exists(contacts.filter(outcome__in=reached)), is_tried=Exists(contacts)
        )

    def standing(self, reach: Reach):
        """Those who have got so far."""
        conditions = {
            Reach.TO_CONTACT: Q(is_tried=False),
            Reach.TRIED: Q(is_tried=True, is_reached=False),
            Reach.REACHED: Q(is_reached=True),
        }
        return self.with_reach().filter(conditions[reach])

    def without_a_way(self):
        """Neither telephone, e-mail nor address on record, and no note about it."""
        return self.filter(
            patient__phone="", patient__email="", patient__address="", unreachable_note=""
        )


class CasePatient(models.Model):
    """
    One patient who got something of what is recalled, each once a case.

    Points and amounts are not copied: they are read from the record. Somebody found later, by a
    point that arrived late, is added; nobody is taken off.
    """

    case = models.ForeignKey(RecallCase, on_delete=models.PROTECT, related_name="people")
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="recalls")
    added_at = models.DateTimeField()
    appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, null=True, editable=False, related_name="+"
    )
    unreachable_note = models.CharField(
        "no way to reach them", max_length=300, blank=True,
        help_text="Why there is none, and what was tried to find one.",
    )  # fmt: skip

    objects = CasePatientQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["case", "patient"], name="recall_patient_once")
        ]

    def __str__(self) -> str:
        return f"{self.case_id}: patient {self.patient_id}"


class CaseContact(models.Model):
    """One attempt to reach a patient, or the patient's answer. Never changed."""

    person = models.ForeignKey(CasePatient, on_delete=models.PROTECT, related_name="contacts")
    channel = models.CharField(max_length=10, choices=Channel.choices())
    outcome = models.CharField(max_length=20, choices=ContactOutcome.choices())
    note = models.TextField(blank=True)
    # The letter or e-mail of a mailing, so that sending it twice cannot be noted twice.
    item = models.OneToOneField(
        MailingItem, on_delete=models.PROTECT, null=True, related_name="contact"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(channel__in=[channel.value for channel in Channel]),
                name="recall_contact_channel_is_known",
            ),
            models.CheckConstraint(
                condition=Q(outcome__in=[outcome.value for outcome in ContactOutcome]),
                name="recall_contact_outcome_is_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_channel_display()}: {self.get_outcome_display()}"


class CaseEvent(models.Model):
    """An adverse event that was found in the course of the case."""

    case = models.ForeignKey(RecallCase, on_delete=models.PROTECT, related_name="events")
    event = models.ForeignKey(AdverseEvent, on_delete=models.PROTECT, related_name="recalls")
    added_at = models.DateTimeField()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["case", "event"], name="recall_event_once")]

    def __str__(self) -> str:
        return f"{self.case_id}: {self.event}"


class CaseMailing(models.Model):
    """A run of letters or e-mails that the case started."""

    case = models.ForeignKey(RecallCase, on_delete=models.PROTECT, related_name="mailings")
    mailing = models.OneToOneField(Mailing, on_delete=models.PROTECT, related_name="recall")

    class Meta:
        app_label = "records"
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.case_id}: {self.mailing}"
