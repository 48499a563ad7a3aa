class MailingError(Exception):
    """A mailing that cannot be started, or an act on it that is not possible now."""


class NoSender(MailingError):
    """The clinic's policy holds no e-mail address to send from."""


class MailServerDown(Exception):
    """The mail server cannot be reached; nothing was marked and sending can go on later."""
