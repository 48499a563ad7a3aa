"""Whether background work is being done."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.utils import timezone

from clinic.background.models import WorkerSeen

# Ticks that may be missed before the clinic is told. Common practice, no source.
MISSED_TICKS = 5


@dataclass(frozen=True, slots=True)
class Silence:
    """The worker has not been seen for too long. `since` is None if it never was."""

    since: datetime | None

    @property
    def text(self) -> str:
        if self.since is None:
            return "It has never been seen here. Nothing is sent until it runs: manage.py work."
        seen = timezone.localtime(self.since)
        return (
            f"Last seen on {seen:%A} {seen.day} {seen:%B} at {seen:%H:%M}. Nothing is sent until "
            "it runs again: manage.py work."
        )


def worker_silence(now: datetime | None = None) -> Silence | None:
    """None while a worker ticks; one query."""
    seen = WorkerSeen.objects.filter(pk=1).first()
    if seen is None:
        return Silence(None)
    patience: timedelta = settings.TICK_EVERY * MISSED_TICKS
    return Silence(seen.seen_at) if (now or timezone.now()) - seen.seen_at > patience else None
