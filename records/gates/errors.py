"""Why a session is not started, each with the sentence shown to the person."""


class GateError(Exception):
    """Something has to be settled first."""


class GateShut(GateError):
    """A stop that nobody may decide to go past."""


class ReasonMissing(GateError):
    """A stop that was neither settled nor decided in writing."""
