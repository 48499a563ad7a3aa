from planning.vocabulary import Term


class Outcome(Term):
    """How somebody left the waiting list."""

    BOOKED = "booked", "Booked"
    GONE = "gone", "Taken off"


class Answer(Term):
    """What became of an offer; "withdrawn" is the clinic's own act."""

    ACCEPTED = "accepted", "Accepted"
    DECLINED = "declined", "Declined"
    EXPIRED = "expired", "Not answered in time"
    WITHDRAWN = "withdrawn", "Taken back"

    @property
    def leads_on(self) -> bool:
        """The time goes to the next in order."""
        return self in (Answer.DECLINED, Answer.EXPIRED)
