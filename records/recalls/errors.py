from collections.abc import Sequence


class RecallError(Exception):
    """An act that the recall case does not allow; the message says why and what to do."""


class CaseClosed(RecallError):
    """The case is closed and never changes."""


class OnlyADrill(RecallError):
    """A drill contacts nobody, stops nothing and takes nothing out of the stock."""


class StillOpen(RecallError):
    """The case cannot be closed: each of `things` is open and nobody has said why."""

    def __init__(self, things: Sequence) -> None:
        self.things = things
        named = "; ".join(thing.title for thing in things)
        super().__init__(f"Still open, and not explained: {named}.")
