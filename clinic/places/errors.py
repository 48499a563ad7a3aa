"""What a place refuses, with the sentence shown to the person."""


class PlaceError(Exception):
    """A change the place does not allow."""
