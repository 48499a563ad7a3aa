"""What reminders do at each tick of the worker."""

from records.reminders.services.reconciling import reconcile
from records.reminders.services.sending import send_due


def tick() -> None:
    reconcile()
    send_due()
