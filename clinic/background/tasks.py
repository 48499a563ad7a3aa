"""The one task of the queue. It carries no data: what is due stands in the tables."""

from django_tasks import task

from clinic.background import ticks
from clinic.background.presence import note_seen


@task()
def tick() -> None:
    """
    Look for what is due, and do it.

    Raises:
        clinic.background.ticks.TickFailed: a part failed; the next tick tries again.
    """
    note_seen()
    ticks.run_all()
