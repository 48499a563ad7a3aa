"""The worker of django-tasks, which sees itself that there is always a tick to come."""

import logging
import time
from types import FrameType

from django.db import InterfaceError, OperationalError, close_old_connections
from django_tasks import DEFAULT_TASK_BACKEND_ALIAS, DEFAULT_TASK_QUEUE_NAME
from django_tasks_db.management.commands.db_worker import Worker

from clinic.background import ticks
from clinic.background.queue import keep_ticking

logger = logging.getLogger(__name__)


class ClinicWorker(Worker):
    """
    Runs what is due, then looks whether a tick waits, again and again.

    SIGTERM and SIGINT let the message that is being sent come to its end, however often they come:
    a terminal sends them to everybody, and whoever started the worker sends another. To end it at
    once there is SIGKILL, after which nothing is lost either.
    """

    def __init__(self, *, worker_id: str, interval: float) -> None:
        super().__init__(
            queue_names=[DEFAULT_TASK_QUEUE_NAME],
            excluded_queue_names=[],
            backend_name=DEFAULT_TASK_BACKEND_ALIAS,
            worker_id=worker_id,
            interval=interval,
            batch=True,  # `run` comes back when nothing is due
            startup_delay=False,
            max_tasks=None,
        )

    def shutdown(self, signum: int, frame: FrameType | None) -> None:
        ticks.stopping.set()
        if self.running:
            super().shutdown(signum, frame)

    def work(self) -> None:
        while self.running:
            try:
                close_old_connections()
                keep_ticking()
                self.run()
            except (OperationalError, InterfaceError):
                # The database restarts, or another holds SQLite's lock for long: it will be back.
                logger.exception("The database cannot be reached")
            if self.running:
                time.sleep(self.interval)
