"""Why an act on an adverse event is refused; each message is a sentence for the page."""


class AdverseEventError(Exception):
    """The event cannot be written so."""


class EventClosed(AdverseEventError):
    """It is closed: nothing of it changes until it is opened again."""


class EventOpen(AdverseEventError):
    """It is open, so it cannot be opened again."""


class OutcomeMissing(AdverseEventError):
    """It cannot be closed before it is known how it ended."""


class ReasonMissing(AdverseEventError):
    """It is opened again without saying why."""
