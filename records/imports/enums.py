from planning.vocabulary import Term


class State(Term):
    """How far an import is."""

    UPLOADED = "uploaded", "Columns to choose"
    CHECKING = "checking", "Being looked through"
    CHECKED = "checked", "Looked through"
    RUNNING = "running", "Being taken in"
    DONE = "done", "Taken in"
    UNDOING = "undoing", "Being undone"
    UNDONE = "undone", "Undone"
    DISCARDED = "discarded", "Discarded"

    @property
    def is_at_work(self) -> bool:
        return self in (State.CHECKING, State.RUNNING, State.UNDOING)


class RowState(Term):
    """What became of one row."""

    WAITING = "waiting", "Not looked at yet"
    GOOD = "good", "New"
    HERE = "here", "Already here"
    ALIKE = "alike", "To decide: may be here"
    WRONG = "wrong", "Refused"
    TAKEN = "taken", "Taken in"
    UNDONE = "undone", "Undone"
    KEPT = "kept", "Kept"
