"""
Keeping the queue of django-tasks going, which by itself runs a task once and no more.

Nothing here is needed for a message not to be lost: ticks find what is due in their own tables.
"""

from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from clinic.background.tasks import tick

GIVEN_UP_AFTER = timedelta(minutes=30)
"""A tick that is run for so long was left behind by a worker that was killed."""

KEPT_FOR = timedelta(days=1)


def keep_ticking() -> None:
    """
    See that a tick waits in the queue, at most one; called by every worker between two tasks.

    It is written ahead for the next minute. Two workers may write two: a tick may run twice.
    """
    now = timezone.now()
    ticks = DBTaskResult.objects.filter(task_path=tick.module_path)
    # One that lies further ahead was written by a clock that was wrong.
    waiting = ticks.filter(status=TaskResultStatus.READY, run_after__lte=now + settings.TICK_EVERY)
    if waiting.exists():
        return
    started = ticks.filter(started_at__lte=now).aggregate(latest=Max("started_at"))["latest"]
    due = started + settings.TICK_EVERY if started else now
    tick.using(run_after=max(due, now)).enqueue()
    _tidy(now)


def tick_now() -> None:
    """Let a worker look at once, when what is being written now is stored."""
    transaction.on_commit(tick.enqueue)


def _tidy(now: datetime) -> None:
    """Take out what nobody asks for any more, and what a dead worker left behind."""
    DBTaskResult.objects.finished().filter(finished_at__lt=now - KEPT_FOR).delete()
    DBTaskResult.objects.running().filter(started_at__lt=now - GIVEN_UP_AFTER).delete()
