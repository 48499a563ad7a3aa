"""What the rows of an opening stock list are compared with."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from clinic.database.parts import in_parts
from clinic.places.models import Place
from clinic.products.models import Product
from clinic.quarantine.models import Quarantine
from clinic.stock.models import Lot, UnitOfStock
from planning.stock_lines import StockLine


@dataclass(frozen=True)
class Books:
    """
    Read once for all rows.

    Attributes:
        places: those in use by their name, and by their name with the site; several of one name.
        lots: by product and number.
        standing: quarantines by product.
        serials: lot and serial number of the units that have one of the rows' numbers.
    """

    by_gtin: dict[str, Product]
    by_name: dict[str, Product]
    places: dict[str, list[Place]]
    lots: dict[tuple[int, str], Lot]
    standing: dict[int, list[Quarantine]]
    serials: set[tuple[int, str]]

    @classmethod
    def about(cls, lines: Sequence[StockLine]) -> "Books":
        products = list(Product.objects.all())
        places: dict[str, list[Place]] = defaultdict(list)
        for place in Place.objects.in_use():
            places[place.name].append(place)
            places[str(place)].append(place)
        lots = {(lot.product_id, lot.number): lot for lot in Lot.objects.all()}
        standing: dict[int, list[Quarantine]] = defaultdict(list)
        for quarantine in Quarantine.objects.standing().order_by("id"):
            standing[quarantine.product_id].append(quarantine)
        given = [line.serial for line in lines if line.serial]
        units = UnitOfStock.objects.values_list("lot_id", "serial")
        serials = {row for part in in_parts(given) for row in units.filter(serial__in=part)}
        return cls(
            by_gtin={one.gtin: one for one in products if one.gtin},
            by_name={one.name: one for one in products},
            places=places,
            lots=lots,
            standing=standing,
            serials=serials,
        )
