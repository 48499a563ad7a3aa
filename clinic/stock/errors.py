"""What the stock refuses, each with the sentence shown to the person."""


class StockError(Exception):
    """A movement the stock does not allow."""


class UnitNotAvailable(StockError):
    """The unit is not in the state the movement needs."""
