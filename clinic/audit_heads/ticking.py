"""What the head of the trail does at each tick of the worker."""

from django.utils import timezone


def tick() -> None:
    """Write down today's head, and mail what was not mailed yet."""
    # Here: every process registers the tick, and few need what prints.
    from clinic.audit_heads.services import mail_heads, write_head

    now = timezone.now()
    write_head(now)
    mail_heads(now)
