class CannotInvite(Exception):
    """The patient or the clinic has no e-mail address, or there is nothing to be told."""


class NoDiary(Exception):
    """The person sees no patients, or has left: there is no diary to read."""
