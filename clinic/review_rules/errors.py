class RuleTaken(Exception):
    """Another rule in use is for the same kind, part of the body and event."""


class DurationTaken(Exception):
    """The clinic has a range for this kind and part of the body already."""
