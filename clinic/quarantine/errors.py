from clinic.stock.errors import StockError


class QuarantineError(StockError):
    """A quarantine that cannot be placed or lifted so; the message says why."""
