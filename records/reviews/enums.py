from planning.vocabulary import Term


class ReviewKind(Term):
    REVIEW = "review", "Review"
    TOP_UP = "top_up", "Top-up"


class ReviewOutcome(Term):
    """How a review ended; empty while it is open."""

    DONE = "done", "Done"
    EXCUSED = "excused", "Excused"


class Standing(Term):
    """Where an open review stands on the day one asks, the most pressing first."""

    OVERDUE = "overdue", "Overdue"
    DUE = "due", "Due"
    PLANNED = "planned", "Planned"
    BOOKED = "booked", "Booked"
