class ReviewClosed(Exception):
    """The review is done or excused and no longer changes."""


class ReviewBooked(Exception):
    """The review has an appointment that is still to come, or of which nobody said what became."""


class ReviewOpen(Exception):
    """The review is on the work list already."""


class ReasonMissing(Exception):
    """A review is excused, or opened again on a later day, without saying why."""


class DayRefused(Exception):
    """A review cannot be moved to that day."""
