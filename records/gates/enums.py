from planning.vocabulary import Term


class How(Term):
    """How a stop and a session came together."""

    GO_ON = "go_on", "Decided to go on"
    AFTERWARDS = "afterwards", "Written down after it was done"
    STOOD = "stood", "Stood when the session was started"
