"""One e-mail at a time by the back end of CLINIC_EMAIL."""

from collections.abc import Sequence
from email.utils import formataddr
from pathlib import Path
from smtplib import SMTPResponseException

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.utils.text import get_valid_filename

from clinic.policy.models import ClinicPolicy
from records.mailings.services.emails import REFUSALS, told_by
from records.reminders.attachments import Attachment
from records.reminders.errors import NobodyKnows, NotNow, Refused
from records.reminders.routes.files import write_once

_TO_FILES = "django.core.mail.backends.filebased.EmailBackend"


def send_email(
    *,
    to: str,
    subject: str,
    text: str,
    reference: str,
    policy: ClinicPolicy,
    attachments: Sequence[Attachment] = (),
) -> None:
    """
    Hand one e-mail over.

    Raises:
        NotNow, Refused, NobodyKnows: as a back end for text messages.
    """
    if not policy.email:
        raise NotNow("The clinic has no e-mail address to send from. Enter one under Policy.")
    email = EmailMessage(
        subject=" ".join(subject.split()),
        body=text,
        from_email=formataddr((policy.name, policy.email)),
        to=[to],
        attachments=list(attachments),
        headers={
            "Message-ID": f"<{reference}@{policy.email.rpartition('@')[2]}>",
            "Auto-Submitted": "auto-generated",  # RFC 3834, 5: no out-of-office answers
        },
    )
    if settings.EMAIL_BACKEND == _TO_FILES:
        write_once(_file(reference), email.message().as_bytes())
    else:
        _hand_over(email)


def was_sent(reference: str) -> bool | None:
    """Only files can be asked; a mail server keeps no record for its senders."""
    return _file(reference).exists() if settings.EMAIL_BACKEND == _TO_FILES else None


def _file(reference: str) -> Path:
    return Path(settings.VAR_DIR) / "mail" / f"{get_valid_filename(reference)}.eml"


def _hand_over(email: EmailMessage) -> None:
    server = get_connection()
    try:
        server.open()
    except OSError as error:
        raise NotNow(f"The mail server cannot be reached: {told_by(error)}"[:300]) from error
    email.connection = server
    try:
        email.send()
    except REFUSALS as error:
        raise (NotNow if _is_for_now(error) else Refused)(told_by(error)) from error
    except OSError as error:  # every other error of SMTP is one, too
        raise NobodyKnows(f"The line broke: {told_by(error)}"[:300]) from error
    finally:
        _close(server)


def _is_for_now(error: Exception) -> bool:
    """Whether the server said so: a reply of 4yz is transient (RFC 5321, 4.2.1)."""
    if isinstance(error, SMTPResponseException):
        return 400 <= error.smtp_code < 500
    recipients = getattr(error, "recipients", None) or {}
    codes = [code for code, _ in recipients.values()]
    return bool(codes) and all(400 <= code < 500 for code in codes)


def _close(server) -> None:
    try:
        server.close()
    except OSError:
        """Everything is said by then; a server that is rude at parting changes nothing."""
