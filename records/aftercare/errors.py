"""Why an act on aftercare is refused; each message is a sentence for the page."""


class AftercareError(Exception):
    """What was asked for is not possible now."""


class NothingGiven(AftercareError):
    """Nothing was injected in the session, or nothing that advice is there for."""


class TextChanged(AftercareError):
    """Somebody saved another version while this one was written."""


class AnswerTooLate(AftercareError):
    """The question is closed, or was answered too often."""


class SettledAlready(AftercareError):
    """Somebody dealt with the answer."""
