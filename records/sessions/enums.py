from planning.vocabulary import Term

# The reason in the ledger of what signing found left and threw away.
LEFT_OVER = "Left over at the end of the session"


class Remainder(Term):
    """What became of what was left in a unit at the end of a session."""

    EMPTY = "empty", "Nothing left"
    WASTED = "wasted", "Wasted"
    KEPT = "kept", "Kept for the same patient"
    SHARED = "shared", "Stays in use"
