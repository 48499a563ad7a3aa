"""Units of stock as tablets know them."""

from datetime import date

from django.db import connection

from clinic.stock.models import Lot, UnitOfStock
from records.sessions.models import Opening


def unit_json(unit: UnitOfStock, against: list[str]) -> dict:
    """Needs lot and product loaded. Amounts in the unit's base units."""
    product = unit.lot.product
    return {
        "pk": unit.pk,
        "label": unit.label,
        "serial": unit.serial,
        "product": product.pk,
        "product_name": product.name,
        "kind": product.kind,
        "measure": product.measure,
        "lot": unit.lot.number,
        "expires_on": unit.lot.expires_on,
        "content": unit.content,
        "drawn": unit.drawn,
        "wasted": unit.wasted,
        "state": unit.state,
        "against": against,
        "held": held_json(unit.lot) or held_json(unit),
    }


def held_json(thing: Lot | UnitOfStock) -> dict | None:
    """Since when a lot, or a unit by itself, is in quarantine and why; None where it is not."""
    if thing.quarantined_at is None:
        return None
    name = f"Unit {thing.label}" if isinstance(thing, UnitOfStock) else f"Lot {thing.number}"
    return {"what": name, "at": thing.quarantined_at, "reason": thing.quarantine_reason}


def opening_json(opening: Opening) -> dict:
    """How an open unit was made up, when and by whom, and until when it may be used."""
    return {
        "diluent": opening.diluent,
        "diluent_ul": opening.diluent_ul,
        "opened_by": str(opening.opened_by),
        "use_before": opening.use_before,
        "opened_at": opening.opened_at,
        "shared": opening.patient_id is None,
    }


# As one statement by hand: tablets ask for it with every point they send, so that draws, which come
# with the sessions, must not count. The condition is the index's own, word by word.
_SEAL = """
    SELECT (SELECT MAX(id) FROM clinic_stockmovement WHERE NOT (kind IN ('drawn', 'undrawn'))),
        (SELECT MAX(id) FROM clinic_quarantine),
        (SELECT COUNT(*) FROM clinic_quarantine WHERE lifted_at IS NOT NULL)
"""


def stock_seal(today: date) -> str:
    """Changes whenever a tablet should fetch the stock again."""
    with connection.cursor() as cursor:
        cursor.execute(_SEAL)
        marks = cursor.fetchone()
    return "-".join([f"{today:%Y%m%d}", *(str(mark or 0) for mark in marks)])
