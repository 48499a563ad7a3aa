"""What the temperature log refuses, each with the sentence shown to the person."""


class FridgeError(Exception):
    """A reading or a decision that cannot be written down so."""


class WrongTime(FridgeError):
    """The time of a reading is still to come, too long ago, or that of another one."""


class NotSaidWhatWasDone(FridgeError):
    """The reading lies outside of the range, and nobody said what was done."""
