"""What can go wrong with a consent, each with the sentence shown to the person."""


class ConsentError(Exception):
    """A consent that cannot be kept as it is."""


class TextChanged(ConsentError):
    """The owner made a new version while the page was open."""


class NotComplete(ConsentError):
    """A risk is not ticked, or something that makes a consent one is missing."""


class AlreadyWithdrawn(ConsentError):
    """Somebody withdrew it before, or there is nothing to withdraw."""


class ReasonMissing(ConsentError):
    """A refusal, a declined treatment or a withdrawal without its reason."""
