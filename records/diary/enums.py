from planning.vocabulary import Term


class By(Term):
    """What stands at the head of a column of the diary."""

    PRACTITIONER = "practitioner", "People"
    ROOM = "room", "Rooms"
