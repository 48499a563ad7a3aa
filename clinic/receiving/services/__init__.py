"""Taking units into the stock: `deliveries` (boxes that came), `lists` (what was there before)."""

from clinic.receiving.services.deliveries import (
    DeliveryLine,
    receive,
    receive_lot,
    receive_once,
)

__all__ = ["DeliveryLine", "receive", "receive_lot", "receive_once"]
