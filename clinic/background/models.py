"""When the worker was last seen."""

from django.db import models
from django.db.models import Q


class WorkerSeen(models.Model):
    """The one row that every tick of a worker writes its time into."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    seen_at = models.DateTimeField()

    class Meta:
        app_label = "clinic"
        constraints = [models.CheckConstraint(condition=Q(id=1), name="worker_seen_is_one_row")]

    def __str__(self) -> str:
        return f"{self.seen_at:%Y-%m-%d %H:%M:%S}"
