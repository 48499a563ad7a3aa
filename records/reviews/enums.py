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


class DateCause(Term):
    """How a review came by its dates."""

    SCHEDULED = "scheduled", "Planned"
    MOVED = "moved", "Moved by hand"
    AMENDED = "amended", "Moved with an addendum"
    RECOMPUTED = "recomputed", "Reckoned anew"

    @property
    def is_by_hand(self) -> bool:
        """Whether a person chose the day, which is then not reckoned anew."""
        return self in {DateCause.MOVED, DateCause.AMENDED}
