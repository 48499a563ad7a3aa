"""Stops that stood when a session was started, and what was decided about them."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from records.gates.enums import How
from records.patients.models import Patient


class GateDecision(models.Model):
    """
    One stop of one session, in the words that were shown. Never changed: a later reason is a row.

    `key` is made where it was decided, which may be a tablet without network; `gate` is the gate's
    own key.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="gate_decisions")
    session = models.ForeignKey(
        "records.TreatmentSession", on_delete=models.PROTECT, related_name="gate_decisions"
    )
    gate = models.CharField(max_length=100)
    title = models.CharField(max_length=300)
    text = models.TextField(blank=True)
    source = models.CharField(max_length=500, blank=True)
    can_be_decided = models.BooleanField()
    how = models.CharField(max_length=12, choices=How.choices())
    reason = models.CharField(max_length=500, blank=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    decided_at = models.DateTimeField()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(how__in=[how.value for how in How]), name="gate_how_is_known"
            ),
            models.CheckConstraint(
                condition=Q(how=How.STOOD.value, reason="")
                | ~Q(how=How.STOOD.value) & ~Q(reason=""),
                name="gate_decision_has_a_reason",
            ),
            models.CheckConstraint(
                condition=Q(can_be_decided=True) | ~Q(how=How.GO_ON.value),
                name="gate_shut_is_not_decided",
            ),
            models.CheckConstraint(
                condition=~Q(gate="") & ~Q(title=""), name="gate_says_what_it_is"
            ),
        ]

    def __str__(self) -> str:
        return self.title
