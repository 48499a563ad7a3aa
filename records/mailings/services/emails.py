"""
Sending e-mails, none of them twice.

An e-mail is marked as being sent in a transaction of its own before it leaves. If the process or
the line ends in between, nobody can know whether it left: it stays marked, and a person decides.
"""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from email.utils import formataddr
from smtplib import SMTPNotSupportedError, SMTPRecipientsRefused, SMTPResponseException
from time import monotonic

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.utils import timezone

from clinic.audit.services import acting
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from planning.merging import fill
from records.mailings.enums import MailingState
from records.mailings.errors import MailServerDown, NoSender
from records.mailings.models import Mailing, MailingItem
from records.mailings.occasions import check_may_go_on, unwanted
from records.mailings.queries import words_of
from records.mailings.services.ending import close_or_reopen, locked, note_done
from records.mailings.services.starting import no_address

# The server, or Python before it, has said that this e-mail is not taken.
REFUSALS = (SMTPResponseException, SMTPRecipientsRefused, SMTPNotSupportedError, ValueError)

CLOSING_DOWN = 421
"""The server takes nothing more on this connection (RFC 5321, 4.2.3)."""


def send_emails(*, mailing: Mailing, actor, seconds: float) -> None:
    """
    Send one e-mail after another for about so many seconds, at least one.

    Raises:
        MailServerDown: the server cannot be reached or broke off. What was under way then stays
            marked as being sent; the others wait.
        NoSender: the policy holds no e-mail address any more.
        MailingError: what the mailing is about is over.
    """
    policy, until = current_policy(), monotonic() + seconds
    if not policy.email:
        raise NoSender("The clinic has no e-mail address to send from. Enter one under Policy.")
    with _server(mailing) as server:
        while item := _claim(mailing, actor):
            message = _message(item, policy, server)
            try:
                message.send()
            except REFUSALS as error:
                _settle(item, actor, MailingState.FAILED, told_by(error))
                if getattr(error, "smtp_code", None) == CLOSING_DOWN:
                    raise MailServerDown(told_by(error)) from error
            except OSError as error:  # every other error of SMTP is one, too
                raise MailServerDown(told_by(error)) from error
            else:
                _settle(item, actor, _what_became(mailing))
            if monotonic() > until:
                return


@contextmanager
def _server(mailing: Mailing) -> Iterator[BaseEmailBackend]:
    """The connection, opened before anything is marked; a rehearsal's leads nowhere."""
    nowhere = "django.core.mail.backends.dummy.EmailBackend"
    server = get_connection(nowhere if mailing.is_rehearsal else None)
    try:
        server.open()
    except OSError as error:
        raise MailServerDown(told_by(error)) from error
    try:
        yield server
    finally:
        # Everything is settled by then; a server that is rude at parting changes nothing.
        with suppress(OSError):
            server.close()


def _claim(mailing: Mailing, actor) -> MailingItem | None:
    """
    The next e-mail, marked as being sent; those whose address has gone, or who want none any
    more, are left out. In a rehearsal nothing is ever marked so.
    """
    with acting(actor):
        held = locked(mailing)
        check_may_go_on(held)
        waiting = held.items.filter(state=MailingState.WAITING).select_related("patient")
        while item := waiting.first():
            item.mailing, item.at = held, timezone.now()
            refused = unwanted(held, [item.patient_id])
            item.problem = refused.get(item.patient_id) or no_address(held, item.patient)
            if item.problem:
                item.state = MailingState.LEFT_OUT
            elif not held.is_rehearsal:
                item.state = MailingState.SENDING
            item.save(update_fields=["state", "at", "problem"])
            if not item.problem:
                return item
        close_or_reopen(held)
    return None


def _message(item: MailingItem, policy: ClinicPolicy, server: BaseEmailBackend) -> EmailMessage:
    words = words_of(item, policy)
    return EmailMessage(
        subject=" ".join(fill(item.mailing.subject, words).split()),
        body=fill(item.mailing.body, words),
        from_email=formataddr((policy.name, policy.email)),
        to=[item.patient.email],
        connection=server,
    )


def _what_became(mailing: Mailing) -> MailingState:
    """In a rehearsal nothing is sent, and where e-mails become files nobody gets one."""
    leaves = settings.EMAIL_LEAVES and not mailing.is_rehearsal
    return MailingState.SENT if leaves else MailingState.WRITTEN


def _settle(item: MailingItem, actor, state: MailingState, problem: str = "") -> None:
    """
    Note what became of an e-mail. Meanwhile a person may have decided about one that took very
    long: that it left is then true all the same, that it failed is not.
    """
    with acting(actor) as trail:
        held = locked(item.mailing)
        stored = held.items.select_related("patient").get(pk=item.pk)
        may_change = {MailingState.SENDING}
        if state != MailingState.FAILED:
            may_change.add(MailingState.WAITING)
        if stored.state not in may_change:
            return
        stored.state, stored.at, stored.problem = state, timezone.now(), problem
        stored.save(update_fields=["state", "at", "problem"])
        if state == MailingState.FAILED:
            trail.add("mailing.failed", stored, patient_id=stored.patient_id, reason=problem)
        else:
            note_done(held, [stored], trail)
        close_or_reopen(held)


def told_by(error: Exception) -> str:
    """What the server said, short enough to keep."""
    if isinstance(error, SMTPResponseException):
        said = error.smtp_error
        text = said.decode(errors="replace") if isinstance(said, bytes) else str(said)
        return f"The mail server refused it: {error.smtp_code} {text}"[:300]
    if recipients := getattr(error, "recipients", None):
        code, said = next(iter(recipients.values()))
        text = said.decode(errors="replace") if isinstance(said, bytes) else str(said)
        return f"The mail server refused the address: {code} {text}"[:300]
    return f"{error}"[:300] or type(error).__name__
