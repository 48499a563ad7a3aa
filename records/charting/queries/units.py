"""Units of stock as tablets know them."""

from datetime import date

from django.db.models import Count, Max

from clinic.stock.models import Lot, StockMovement, UnitOfStock
from records.sessions.models import Opening


def unit_json(unit: UnitOfStock, against: list[str]) -> dict:
    """Needs lot and product loaded. Amounts in the unit's base units."""
    product = unit.lot.product
    return {
        "pk": unit.pk,
        "label": unit.label,
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
    }


def opening_json(opening: Opening) -> dict:
    """How an open unit was made up, and until when it may be used."""
    return {
        "diluent_ul": opening.diluent_ul,
        "use_before": opening.use_before,
        "opened_at": opening.opened_at,
        "shared": opening.patient_id is None,
    }


def stock_seal(today: date) -> str:
    """Changes whenever a tablet should fetch the stock again: two short queries."""
    last = StockMovement.objects.aggregate(last=Max("id"))["last"]
    held = Lot.objects.quarantined().aggregate(count=Count("id"), last=Max("quarantined_at"))
    moment = held["last"].timestamp() if held["last"] else 0
    return f"{today:%Y%m%d}-{last or 0}-{held['count']}-{moment:.0f}"
