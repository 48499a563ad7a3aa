"""The head of the audit trail of each day, as it was written down and mailed."""

from django.db import models


class DailyHead(models.Model):
    """
    How many entries the trail had when the worker first looked on `day`, and the last digest.

    It proves something only outside of this database: printed, or in somebody's mailbox.
    `tried_at` is the last time it was to be mailed, `mailed_to` the addresses that took it.
    """

    day = models.DateField(unique=True)
    at = models.DateTimeField()
    count = models.PositiveBigIntegerField("entries")
    digest = models.CharField(max_length=64)
    tried_at = models.DateTimeField(null=True, editable=False)
    mailed_at = models.DateTimeField(null=True, editable=False)
    mailed_to = models.TextField(blank=True, editable=False)
    problem = models.CharField(max_length=300, blank=True, editable=False)

    class Meta:
        app_label = "clinic"
        ordering = ["-day"]
        verbose_name = "head of the trail"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(mailed_at__isnull=True, mailed_to="")
                | (models.Q(mailed_at__isnull=False, problem="") & ~models.Q(mailed_to="")),
                name="daily_head_mailed_to_somebody",
            )
        ]

    def __str__(self) -> str:
        return f"Head of {self.day}"

    @property
    def line(self) -> str:
        """As `verify_audit --heads` reads it."""
        return f"{self.day.isoformat()} {self.count} {self.digest}"

    @property
    def groups(self) -> list[str]:
        """The digest in eights, to be read aloud and compared."""
        return [self.digest[start : start + 8] for start in range(0, len(self.digest), 8)]
