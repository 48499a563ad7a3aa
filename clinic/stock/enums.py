from planning.vocabulary import Term


class UnitState(Term):
    """Where a unit of stock is in its life. Empty is not a state: nothing remains in it."""

    IN_STOCK = "in_stock", "In stock"
    OPENED = "opened", "Opened"
    RETURNED = "returned", "Returned to supplier"
    WRITTEN_OFF = "written_off", "Written off"


class MovementKind(Term):
    """What happened to a unit of stock, apart from the draws, which are the points themselves."""

    RECEIVED = "received", "Received"
    OPENED = "opened", "Opened"
    PUT_BACK = "put_back", "Put back unopened"
    WASTED = "wasted", "Wasted"
    KEPT = "kept", "Kept for the same patient"
    RETURNED = "returned", "Returned to supplier"
    WRITTEN_OFF = "written_off", "Written off"


class StockFilter(Term):
    """Which lots the stock page shows."""

    IN_HOUSE = "in_house", "Something left"
    SOON = "soon", "Expires soon"
    EXPIRED = "expired", "Expired"
    QUARANTINED = "quarantined", "In quarantine"
    ALL = "all", "Every lot"
