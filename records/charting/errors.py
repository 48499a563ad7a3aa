"""Why an operation was not applied, with what the person can choose."""

from dataclasses import dataclass


class Malformed(Exception):
    """The request is not what a tablet of ours sends; the text says what is wrong with it."""


class NotApplied(Exception):
    """The operation changed nothing."""


class Hold(NotApplied):
    """Something it builds on has not arrived: the tablet keeps it and sends it again."""


@dataclass(frozen=True)
class Choice:
    """One way out: an act the screen knows, and what it says."""

    act: str
    label: str


class Refused(NotApplied):
    """A person must change it. The text says what to do."""

    def __init__(self, message: str, conflict: dict | None = None) -> None:
        super().__init__(message)
        self.conflict = conflict


class Conflict(NotApplied):
    """
    Something changed meanwhile, and a person must choose.

    Args:
        about: "point", "unit" or "session".
        here: what was done on the tablet, as a sentence.
        there: what the clinic has.
        more: further values for the screen, such as the key of the session that exists.
    """

    def __init__(
        self, about: str, here: str, there: str, choices: list[Choice], **more: object
    ) -> None:
        super().__init__(there)
        self.conflict = conflict_dict(about, here, there, choices, **more)


def conflict_dict(about: str, here: str, there: str, choices: list[Choice], **more: object) -> dict:
    """A conflict as it goes to the tablet."""
    ways = [{"act": choice.act, "label": choice.label} for choice in choices]
    return {"about": about, "here": here, "there": there, "choices": ways, **more}


DROP = Choice("drop", "Leave it as the clinic has it")
