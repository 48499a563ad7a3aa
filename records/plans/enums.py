"""The words of plans."""

from planning.vocabulary import Term


class PlanEnd(Term):
    """How a plan ended; empty while it is open."""

    CARRIED_OUT = "carried_out", "Carried out"
    GIVEN_UP = "given_up", "Given up"
