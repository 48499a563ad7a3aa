"""What the hours refuse, each with the sentence shown to the person."""


class HoursOverlap(Exception):
    """A person would work at two places, or twice, at one time."""


class NothingToCopy(Exception):
    """A day without hours is to be copied."""


class AlreadyAway(Exception):
    """A person or room is away twice for one reason at one time."""
