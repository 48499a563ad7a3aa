class AlreadyWaiting(Exception):
    """The patient waits for this kind of visit already."""


class EntryClosed(Exception):
    """The entry left the waiting list meanwhile, or is being offered another time."""


class ReasonMissing(Exception):
    """An entry is taken off, or marked as urgent, without saying why."""


class NobodyFits(Exception):
    """Nobody, or not the person who was chosen, can have the freed time any more."""


class TooLate(Exception):
    """The freed time starts too soon to be offered; it can still be booked."""


class OfferClosed(Exception):
    """The offer was answered or ended before."""
