"""What the hours refuse, each with the sentence shown to the person."""


class HoursOverlap(Exception):
    """A person would work at two places, or twice, at one time."""


class NothingToCopy(Exception):
    """A day without hours is to be copied."""
