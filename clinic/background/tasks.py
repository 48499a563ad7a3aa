"""The one task of the queue. It carries no data: what is due stands in the tables."""

from django.utils import timezone
from django_tasks import task

from clinic.background import ticks
from clinic.background.models import WorkerSeen


@task()
def tick() -> None:
    """
    Look for what is due, and do it.

    Raises:
        clinic.background.ticks.TickFailed: a part failed; the next tick tries again.
    """
    WorkerSeen.objects.update_or_create(pk=1, defaults={"seen_at": timezone.now()})
    ticks.run_all()
