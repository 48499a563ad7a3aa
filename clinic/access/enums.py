from planning.vocabulary import Term


class Role(Term):
    """What a member of staff may do. One person can hold several."""

    FRONT_DESK = "front_desk", "Front desk"
    INJECTOR = "injector", "Injector"
    OWNER = "owner", "Practice owner"
