"""What of a session's tray came into quarantine, and what was drawn from it while it was there."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from clinic.quarantine.models import Quarantine
from clinic.quarantine.queries import reaches_lot, reaches_serial
from clinic.stock.models import UnitOfStock
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.queries.around import Around


@dataclass(frozen=True)
class Hold:
    """
    A quarantine that reached a unit on the tray.

    Attributes:
        points: numbers of the points drawn from the unit while it stood.
    """

    unit: UnitOfStock
    quarantine: Quarantine
    points: tuple[int, ...]


def holds_on(
    session: TreatmentSession,
    points: Iterable[InjectionEntry],
    tray: Iterable[SessionUnit],
    around: Around | None = None,
) -> list[Hold]:
    """
    Those that a reader has to know of: under which something was drawn, and while the session is
    unsigned also those that stand. A unit that was opened in spite of one has its written reason,
    which says the same. One query.
    """
    tray, points = list(tray), list(points)
    around = around or Around([session], tray)
    found = []
    for quarantine in around.quarantines(session):
        for row in tray:
            if not _reaches(quarantine, row.unit) or _is_explained(row, session, quarantine):
                continue
            numbers = tuple(
                point.number
                for point in points
                if point.unit_id == row.unit_id and quarantine.stood_at(given_at(point, session))
            )
            if numbers or not (session.is_signed or quarantine.is_lifted):
                found.append(Hold(row.unit, quarantine, numbers))
    return found


def given_at(point: InjectionEntry, session: TreatmentSession) -> datetime:
    """
    When a point was given, as far as it is known: by the device's clock, but never after it was
    stored. Of a session that is written down later only the time of the treatment is known.
    """
    if session.late_reason:
        return session.started_at
    return min(point.tapped_at, point.logged_at)


def _reaches(quarantine: Quarantine, unit: UnitOfStock) -> bool:
    return (
        quarantine.product_id == unit.lot.product_id
        and reaches_lot(quarantine, unit.lot.number)
        and reaches_serial(quarantine, unit.serial)
    )


def _is_explained(row: SessionUnit, session: TreatmentSession, quarantine: Quarantine) -> bool:
    opening = row.unit.opening
    came = opening.opened_at if opening.session_id == session.pk else session.started_at
    return bool(row.deviation) and quarantine.placed_at <= came
