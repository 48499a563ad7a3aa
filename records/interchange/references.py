"""The ids of one bundle, and what its resources point at."""

from datetime import datetime
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

from clinic.products.models import Product
from clinic.stock.models import Lot, UnitOfStock
from planning.vocabulary import ProductKind
from records.interchange.parts import BASE, Json
from records.interchange.queries import PatientRecord

# What stays in the body as an object. All else is a medicine here; local law may draw the line
# elsewhere.
DEVICES = (ProductKind.HA_FILLER, ProductKind.OTHER_FILLER)


def is_device(product: Product) -> bool:
    return product.kind in DEVICES


def product_type(product: Product) -> str:
    """The resource that a product, a lot and a unit of it are told by."""
    return "Device" if is_device(product) else "Medication"


class References:
    """
    Gives each thing of a record its id, the same in every bundle of the same clinic, and keeps what
    was pointed at, so that it can be put into the bundle as well.
    """

    def __init__(self, record: PatientRecord) -> None:
        # Two clinics have a P000001 each.
        self._namespace = uuid5(NAMESPACE_URL, f"{BASE}/clinic/{record.clinic}")
        self._record = record
        self._pointed_at: dict[str, dict[Any, Any]] = {}

    def id_of(self, kind: str, key: object) -> str:
        """
        Args:
            kind: the type of the resource, and of what it tells where several things are told by
                one type: "Procedure/point".
        """
        return str(uuid5(self._namespace, f"{kind}/{key}"))

    def system(self, name: str) -> str:
        """The namespace of this clinic's own numbers, such as record numbers."""
        return uuid5(self._namespace, f"system/{name}").urn

    def to(self, kind: str, key: object) -> Json:
        return {"reference": UUID(self.id_of(kind, key)).urn}

    def pointed_at(self, kind: str) -> list[Any]:
        """The things of this kind that were pointed at, in the order of their keys."""
        return [thing for _, thing in sorted(self._pointed_at.get(kind, {}).items())]

    def _noted(self, kind: str, key: object, thing: Any) -> Json:
        self._pointed_at.setdefault(kind, {})[key] = thing
        return self.to(kind, key)

    @property
    def now(self) -> datetime:
        return self._record.at

    @property
    def patient(self) -> Json:
        return self.to("Patient", self._record.patient.record_number)

    @property
    def clinic(self) -> Json:
        return self.to("Organization", "clinic")

    def person(self, staff_id: int | None) -> Json | None:
        if staff_id is None:
            return None
        return self._noted("Practitioner", staff_id, self._record.staff[staff_id])

    def room(self, room_id: int) -> Json:
        room = self._record.rooms[room_id]
        self.site(room.site_id)
        return self._noted("Location/room", room_id, room)

    def site(self, site_id: int) -> Json:
        return self._noted("Location/site", site_id, self._record.sites[site_id])

    def session(self, session_id: int | None) -> Json | None:
        """The sitting as a visit."""
        return None if session_id is None else self.to("Encounter/session", session_id)

    def treatment(self, session_id: int) -> Json:
        """The sitting as what was done in it."""
        return self.to("Procedure/session", session_id)

    def body(self, region: str, side: str) -> Json:
        return self._noted("BodyStructure", f"{region}/{side}", (region, side))

    def unit(self, unit: UnitOfStock) -> Json:
        kind = product_type(unit.lot.product)
        return self._noted(f"{kind}/unit", unit.label, unit)

    def lot(self, lot: Lot) -> Json:
        """Of which nobody knows the unit."""
        return self._noted(f"{product_type(lot.product)}/lot", lot.pk, lot)

    def product(self, product: Product) -> Json:
        """Of which nobody knows the lot."""
        return self._noted(f"{product_type(product)}/product", product.pk, product)
