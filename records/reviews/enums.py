from planning.vocabulary import Term


class ReviewKind(Term):
    REVIEW = "review", "Review"
    TOP_UP = "top_up", "Top-up"


class ReviewOutcome(Term):
    """How a review ended; empty while it is open."""

    DONE = "done", "Done"
    EXCUSED = "excused", "Excused"
