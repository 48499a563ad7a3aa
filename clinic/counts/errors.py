"""What a stock count refuses, each with the sentence shown to the person."""

from clinic.stock.errors import StockError


class CountError(StockError):
    """An act the count does not allow."""


class CountClosed(CountError):
    """The count was posted or given up; nothing is added to it."""


class CountUnderWay(CountError):
    """The same place is being counted already; `count` is that count."""

    def __init__(self, message: str, count) -> None:
        super().__init__(message)
        self.count = count


class NotExplained(CountError):
    """Differences or lines of the count lack what posting needs; `lines` says what, by key."""

    def __init__(self, message: str, lines: dict[str, str]) -> None:
        super().__init__(message)
        self.lines = lines
