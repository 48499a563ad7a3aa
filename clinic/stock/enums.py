from planning.vocabulary import Term


class UnitState(Term):
    """Where a unit of stock is in its life. Empty is not a state: nothing remains in it."""

    IN_STOCK = "in_stock", "In stock"
    OPENED = "opened", "Opened"
    RETURNED = "returned", "Returned to supplier"
    WRITTEN_OFF = "written_off", "Written off"
    MISSING = "missing", "Missing at count"


class MovementKind(Term):
    """
    What happened to a unit of stock.

    The rows of a draw are written by the triggers of the points: one when a point is logged, and
    where its amount or unit changes, or it is removed, one that takes the old draw back and one
    for the new.
    """

    RECEIVED = "received", "Received"
    OPENED = "opened", "Opened"
    PUT_BACK = "put_back", "Put back unopened"
    DRAWN = "drawn", "Drawn"
    UNDRAWN = "undrawn", "Draw taken back"
    WASTED = "wasted", "Wasted"
    KEPT = "kept", "Kept for the same patient"
    RETURNED = "returned", "Returned to supplier"
    WRITTEN_OFF = "written_off", "Written off"
    MOVED = "moved", "Moved"
    MISSING = "missing", "Missing at count"
    FOUND = "found", "Found at count"

    @property
    def sign(self) -> int:
        """What it does to what is left in the unit for the clinic: 1 adds, -1 takes away, or 0."""
        return _SIGNS.get(self, 0)


_SIGNS = {
    MovementKind.RECEIVED: 1,
    MovementKind.FOUND: 1,
    MovementKind.UNDRAWN: 1,
    MovementKind.DRAWN: -1,
    MovementKind.WASTED: -1,
    MovementKind.RETURNED: -1,
    MovementKind.WRITTEN_OFF: -1,
    MovementKind.MISSING: -1,
}


class StockFilter(Term):
    """Which lots the stock page shows."""

    IN_HOUSE = "in_house", "Something left"
    URGENT = "urgent", "Expiry urgent"
    SOON = "soon", "Expires soon"
    EXPIRED = "expired", "Expired"
    QUARANTINED = "quarantined", "In quarantine"
    ALL = "all", "Every lot"
