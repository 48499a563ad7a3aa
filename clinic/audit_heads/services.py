"""Writing down and mailing the head of the audit trail, once a day."""

from datetime import datetime, timedelta
from email.utils import formataddr

from django.conf import settings
from django.core.mail import EmailMessage
from django.utils import timezone

from clinic.audit.chain import GENESIS
from clinic.audit.models import AuditHead
from clinic.audit.services import acting
from clinic.audit_heads.documents import head_pdf, head_text
from clinic.audit_heads.models import DailyHead
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy

TRY_AGAIN_AFTER = timedelta(hours=1)
# Older ones are not sent behind: addresses that are named today get the heads from today on.
MAILED_WITHIN = timedelta(days=7)
NO_SENDER = "The clinic has no e-mail address to send from. Enter one under Policy."


def write_head(now: datetime) -> DailyHead:
    """The head of today, written down if nobody has yet; two workers write one."""
    day = timezone.localdate(now)
    kept = DailyHead.objects.filter(day=day).first()
    if kept is not None:
        return kept
    head = AuditHead.objects.filter(id=1).first()
    count, digest = (head.count, head.digest) if head else (0, GENESIS)
    found, _ = DailyHead.objects.get_or_create(
        day=day, defaults={"at": now, "count": count, "digest": digest}
    )
    return found


def mail_heads(now: datetime) -> None:
    """
    Mail what was not mailed yet, to the addresses that the policy names.

    An e-mail that left and could not be noted leaves again: a head twice does no harm, one that
    never came would.
    """
    policy = current_policy()
    if not policy.head_recipients:
        return
    first = timezone.localdate(now) - MAILED_WITHIN
    for head in DailyHead.objects.filter(mailed_at__isnull=True, day__gte=first).order_by("day"):
        if head.tried_at is None or now - head.tried_at >= TRY_AGAIN_AFTER:
            _mail(head, policy, now)


def _mail(head: DailyHead, policy: ClinicPolicy, now: datetime) -> None:
    to = policy.head_recipients
    problem = "" if policy.email else NO_SENDER
    if not problem:
        try:
            _message(head, policy, to).send()
        except (OSError, ValueError) as error:  # every error of SMTP is an OSError
            problem = f"{error}"[:300] or type(error).__name__
    with acting(None) as trail:
        stored = DailyHead.objects.select_for_update().get(pk=head.pk)
        if stored.mailed_at is not None:
            return
        stored.tried_at, stored.problem = now, problem
        if not problem:
            stored.mailed_at, stored.mailed_to = now, "\n".join(to)
            trail.add("daily_head.mailed", stored, after={"to": to, "leaves": _leaves()})
        stored.save(update_fields=["tried_at", "problem", "mailed_at", "mailed_to"])


def _leaves() -> bool:
    """False where e-mails become files and reach nobody."""
    return settings.EMAIL_LEAVES


def _message(head: DailyHead, policy: ClinicPolicy, to: list[str]) -> EmailMessage:
    message = EmailMessage(
        subject=f"Head of the audit trail, {head.day:%-d %B %Y}",
        body=head_text(head, policy),
        from_email=formataddr((policy.name, policy.email)),
        to=to,
    )
    name = f"audit-head-{head.day.isoformat()}.pdf"
    message.attach(name, head_pdf(head, policy), "application/pdf")
    return message
