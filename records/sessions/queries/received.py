"""What a patient got, by unit of stock and by lot."""

from dataclasses import dataclass
from itertools import groupby

from clinic.stock.models import Lot, UnitOfStock
from records.patients.models import Patient
from records.sessions.models import InjectionEntry, TreatmentSession


@dataclass(frozen=True)
class Received:
    """What one patient got from one unit of stock in one session; `amount` in base units."""

    session: TreatmentSession
    unit: UnitOfStock
    regions: tuple[str, ...]
    points: int
    amount: int

    @property
    def lot(self) -> Lot:
        return self.unit.lot

    @property
    def held_because(self) -> str:
        """Why the lot, or this very unit of it, is in quarantine now; "" if it is not."""
        return self.unit.quarantine_reason or self.lot.quarantine_reason


def received_by(patient: Patient) -> list[Received]:
    """Everything the patient got, the latest first, in one query."""
    points = (
        InjectionEntry.objects.standing()
        .filter(session__patient=patient)
        .select_related("session__injector", "unit__lot__product")
        .order_by("-session__started_at", "-session_id", "unit_id", "number")
    )
    drawn = groupby(points, key=lambda point: (point.session_id, point.unit_id))
    return [_received(list(of_unit)) for _, of_unit in drawn]


def _received(points: list[InjectionEntry]) -> Received:
    first = points[0]
    return Received(
        session=first.session,
        unit=first.unit,
        regions=tuple(dict.fromkeys(point.region_label for point in points)),
        points=len(points),
        amount=sum(point.amount for point in points),
    )


def by_lot(received: list[Received]) -> list[tuple[Lot, list[Received]]]:
    """The same by lot, each with its treatments; the lot of the latest treatment first."""
    lots: dict[int, list[Received]] = {}
    for row in received:
        lots.setdefault(row.lot.pk, []).append(row)
    return [(rows[0].lot, rows) for rows in lots.values()]
