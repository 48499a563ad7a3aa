class ReminderError(Exception):
    """An act on a message or an answer that is not possible now; the text says why."""


class CannotBeReached(ReminderError):
    """No channel on which the patient agreed to be written to, and can be."""


class NotNow(Exception):
    """A back end cannot take the message for the moment: it did not go, and is tried again."""


class Refused(Exception):
    """A back end will never take this message, or not for this recipient."""


class NobodyKnows(Exception):
    """The line broke while the message was being handed over: it may have gone, or not."""
