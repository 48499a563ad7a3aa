from clinic.stock.errors import StockError


class LineRefused(StockError):
    """A line that the stock does not take; `index` is its place among those given."""

    def __init__(self, index: int, message: str) -> None:
        super().__init__(message)
        self.index = index


class CodeRefused(StockError):
    """A code that adds nothing to a delivery; the message says why and what to do."""


class ListRefused(StockError):
    """A list that is not taken in as it is; nothing of it was."""
