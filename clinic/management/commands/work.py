"""manage.py work: does what is to be done in the background, until it is stopped."""

from django.core.management.base import BaseCommand
from django.utils.crypto import get_random_string

from clinic.background.worker import ClinicWorker

POLL_SECONDS = 1.0


class Command(BaseCommand):
    help = (
        "Sends what is due, each minute and when asked, until it is stopped (SIGTERM or Ctrl-C: "
        "after what it is doing). Several may run at once; one killed is replaced by starting "
        "another."
    )

    def handle(self, *args, **options) -> None:
        worker = ClinicWorker(worker_id=get_random_string(32), interval=POLL_SECONDS)
        worker.configure_signals()
        worker.work()
