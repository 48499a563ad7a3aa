"""One step of a mailing, the same from the page and from the command line."""

from records.mailings.enums import MailingChannel
from records.mailings.models import Mailing
from records.mailings.queries import Progress, progress
from records.mailings.services.emails import send_emails
from records.mailings.services.letters import write_letters

STEP_SECONDS = 1.5
"""How long e-mails are sent in one step; letters are written a file at a time, about a second."""


def write_next(*, mailing: Mailing, actor) -> Progress:
    """
    Write the next file of letters, or send e-mails for a moment, and say where the mailing stands.
    At the end of a mailing it changes nothing.

    Raises:
        MailServerDown, MailingError: as `send_emails` and `write_letters`.
    """
    if mailing.channel == MailingChannel.LETTER:
        write_letters(mailing=mailing, actor=actor)
    else:
        send_emails(mailing=mailing, actor=actor, seconds=STEP_SECONDS)
    return progress(mailing)
