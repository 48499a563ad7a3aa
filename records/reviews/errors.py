class ReviewClosed(Exception):
    """The review is done or excused and no longer changes."""


class ReviewBooked(Exception):
    """The review has an appointment that is still to come."""


class ReasonMissing(Exception):
    """A review is excused without saying why."""
