from planning.vocabulary import Term


class CountScope(Term):
    """What is counted."""

    PLACE = "place", "One place"
    NOWHERE = "nowhere", "What was not put anywhere"
    EVERYTHING = "everything", "The whole stock"


class Way(Term):
    """How somebody noted that a unit is there."""

    SCANNED = "scanned", "Scanned"
    TYPED = "typed", "Label typed"
    TICKED = "ticked", "Ticked in the list"
