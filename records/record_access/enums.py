from planning.vocabulary import Term


class Mark(Term):
    """What the owner made of a question."""

    OPEN = "open", "Open"
    EXPLAINED = "explained", "Explained"
    CONCERN = "concern", "A concern"
