from planning.vocabulary import Term


class Way(Term):
    """How a patient was given a sheet."""

    PRINTED = "printed", "Printed"
    EMAIL = "email", "By message"
    SHOWN = "shown", "Shown as a code"


class Feeling(Term):
    """What a patient answers the day after."""

    WELL = "well", "All is well"
    WORRIED = "worried", "Something worries me"
