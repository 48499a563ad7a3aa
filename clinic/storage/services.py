"""Moving units between rooms and sites."""

from collections.abc import Iterable

from clinic.audit.services import acting
from clinic.places.models import Place
from clinic.stock.errors import StockError
from clinic.stock.models import StockMovement, UnitOfStock
from clinic.stock.services import put_elsewhere


def move_units(
    *, units: Iterable[UnitOfStock], place: Place, reason: str, actor
) -> list[StockMovement]:
    """
    Put units that are in the house into `place`: all of them, or none.

    Raises:
        StockError: none chosen, no reason, or one that cannot be moved (`put_elsewhere`).
    """
    in_order = sorted(units, key=lambda unit: unit.pk)  # two who move never wait for each other
    if not in_order:
        raise StockError("Choose at least one unit.")
    if not reason.strip():
        raise StockError("Say why it is moved: the reason stands in the ledger.")
    with acting(actor, as_one=True):
        return [
            put_elsewhere(unit=unit, place=place, reason=reason.strip(), actor=actor)
            for unit in in_order
        ]
