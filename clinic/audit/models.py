"""The audit trail: one row per read or change, chained by hash, never changed."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.audit.chain import row_text


class AuditEvent(models.Model):
    """
    One thing somebody did.

    `id` is the position in the chain, from 1 without gaps. `digest` is SHA-256 over the previous
    digest and this row's own text (see `clinic.audit.chain`), so a row that is altered, removed
    or slipped in breaks the chain from there on.
    """

    id = models.PositiveBigIntegerField("position", primary_key=True)
    at = models.DateTimeField()
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        db_index=False,  # audit_by_actor begins with it
        help_text="Empty when a command did it.",
    )
    action = models.CharField(max_length=60)
    subject_type = models.CharField(max_length=60)
    subject_id = models.CharField(max_length=60)
    # A plain number: patients live in a package above this one.
    patient_id = models.PositiveBigIntegerField(null=True)
    data = models.TextField(default="{}", help_text="JSON: before, after, reason.")
    previous_digest = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)

    class Meta:
        app_label = "clinic"
        ordering = ["-id"]
        indexes = [
            models.Index(
                fields=["patient_id", "-id"], name="audit_by_patient",
                condition=Q(patient_id__isnull=False),
            ),
            models.Index(fields=["at"], name="audit_by_time"),
            models.Index(fields=["actor", "-id"], name="audit_by_actor"),
            models.Index(fields=["subject_type", "subject_id", "-id"], name="audit_by_subject"),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.id}: {self.action} {self.subject_type} {self.subject_id}"

    @property
    def text(self) -> str:
        """What the chain's digest is made of, the same before and after storing."""
        return row_text(
            position=self.id,
            at=self.at,
            actor_id=self.actor_id,
            action=self.action,
            subject_type=self.subject_type,
            subject_id=self.subject_id,
            patient_id=self.patient_id,
            data=self.data,
        )


class AuditHead(models.Model):
    """The end of the chain: how many rows there are and the last digest. One row."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    count = models.PositiveBigIntegerField(default=0)
    digest = models.CharField(max_length=64)

    class Meta:
        app_label = "clinic"
        constraints = [models.CheckConstraint(condition=Q(id=1), name="audit_head_is_one_row")]

    def __str__(self) -> str:
        return f"{self.count} events"
