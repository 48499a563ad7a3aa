from planning.vocabulary import Term


class PlaceKind(Term):
    """What kind of place units of stock lie in."""

    CUPBOARD = "cupboard", "Cupboard or shelf"
    FRIDGE = "fridge", "Fridge"
    ROOM = "room", "Treatment room"
    APART = "apart", "Set apart, not for use"
