"""Logging, changing and removing injection entries."""

import uuid
from dataclasses import asdict, dataclass
from datetime import datetime

from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.stock.models import UnitOfStock
from clinic.stock.services import lock_unit
from planning.amounts import format_amount
from planning.atlas.locate import Location, NotOnFace, locate
from planning.atlas.measurements import CHART_VERSION
from planning.vocabulary import Jaw, View
from records.sessions.errors import Overdrawn, PointConflict, SessionError
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.services.sittings import lock_session, refuse_signed


@dataclass(frozen=True)
class PointDetails:
    """
    What the injector says about a point.

    Attributes:
        unit_id: an open unit of stock on the session's tray.
        x_dmm, y_dmm: tenths of a millimetre on the chart.
        region, side: empty to take them from the place; the injector may overrule the chart.
        amount: microlitres or hundredths of a unit, by the product; > 0.
    """

    unit_id: int
    view: str
    x_dmm: int
    y_dmm: int
    plane: str
    technique: str
    instrument: str
    aspiration: str
    amount: int
    region: str = ""
    side: str = ""
    gauge: int | None = None
    length_mm: int | None = None
    deviation: str = ""


POINT_FIELDS = [
    "unit", "view", "x_dmm", "y_dmm", "region", "side", "plane", "technique", "instrument",
    "gauge", "length_mm", "aspiration", "amount", "deviation",
]  # fmt: skip

PLACE_FIELDS = [
    "x_dmm", "y_dmm", "region", "side", "relative_x_permille", "relative_y_permille",
]  # fmt: skip


def log_point(
    *,
    session: TreatmentSession,
    key: uuid.UUID,
    details: PointDetails,
    tapped_at: datetime,
    actor,
) -> InjectionEntry:
    """
    Store a point once, however often it is sent: again after signing too, so that a tablet whose
    answer was lost still learns that the point is safe.

    Args:
        key: the id made where the point was tapped.
        tapped_at: by the device's clock.

    Raises:
        PointConflict: the key was sent before with other content.
        Overdrawn: more than remains in the unit.
        SessionError: the place is not on the face, or the unit is not on the tray.
    """
    with acting(actor) as trail:
        session = lock_session(session.pk)
        placed = _placed(details, session)
        if stored := InjectionEntry.objects.filter(key=key).first():
            return _same_or_conflict(stored, session, placed)
        refuse_signed(session)
        unit = _lock_on_tray(session, details.unit_id)
        _check_remaining(unit, details.amount)
        last = session.points.order_by("-number").values_list("number", flat=True).first()
        point = InjectionEntry(
            key=key,
            session=session,
            number=(last or 0) + 1,
            tapped_at=tapped_at,
            logged_by=actor,
            chart_version=CHART_VERSION,
            **placed,
        )
        _insert(point)
        trail.add(
            "point.logged",
            point,
            patient_id=session.patient_id,
            after=snapshot(point, ["session", "number", *POINT_FIELDS]),
        )
    return point


def change_point(*, point: InjectionEntry, details: PointDetails, actor) -> InjectionEntry:
    """
    Move or edit a point of an unsigned session.

    Raises: as `log_point`; a removed point does not change.
    """
    with acting(actor) as trail:
        session = refuse_signed(lock_session(point.session_id))
        point = _standing(point)
        before = snapshot(point, POINT_FIELDS)
        unit = _lock_on_tray(session, details.unit_id)
        given_back = point.amount if point.unit_id == unit.pk else 0
        _check_remaining(unit, details.amount - given_back)
        placed = _placed(details, session)
        for name, value in placed.items():
            setattr(point, name, value)
        point.save(update_fields=list(placed))
        before, after = changes(before, snapshot(point, POINT_FIELDS))
        trail.add("point.changed", point, patient_id=session.patient_id, before=before, after=after)
    return point


def move_point(*, point: InjectionEntry, x_dmm: int, y_dmm: int, actor) -> InjectionEntry:
    """
    Move a point on its view. Region and side follow the new place, unless the injector had
    overruled the chart at the old one: then what was said stands.

    Raises:
        SessionError: the place is not on the face, or the point was removed.
    """
    with acting(actor) as trail:
        session = refuse_signed(lock_session(point.session_id))
        point = _standing(point)
        was = _located(point.view, point.x_dmm, point.y_dmm, session)
        now = _located(point.view, x_dmm, y_dmm, session)
        before = snapshot(point, POINT_FIELDS)
        if (point.region, point.side) == (was.region, was.side):
            point.region, point.side = now.region.value, now.side.value
        point.x_dmm, point.y_dmm = x_dmm, y_dmm
        point.relative_x_permille = now.relative_x_permille
        point.relative_y_permille = now.relative_y_permille
        point.save(update_fields=PLACE_FIELDS)
        before, after = changes(before, snapshot(point, POINT_FIELDS))
        trail.add("point.moved", point, patient_id=session.patient_id, before=before, after=after)
    return point


def remove_point(*, point: InjectionEntry, actor) -> None:
    """Take a point out of an unsigned session; removing it twice changes nothing."""
    with acting(actor) as trail:
        session = refuse_signed(lock_session(point.session_id))
        stored = InjectionEntry.objects.select_for_update().get(pk=point.pk)
        if stored.removed_at is None:
            stored.removed_at = timezone.now()
            stored.save(update_fields=["removed_at"])
            before = snapshot(stored, ["number", *POINT_FIELDS])
            trail.add("point.removed", stored, patient_id=session.patient_id, before=before)


def _placed(details: PointDetails, session: TreatmentSession) -> dict:
    """The columns of a point: what was said, and where the chart finds it."""
    location = _located(details.view, details.x_dmm, details.y_dmm, session)
    columns = asdict(details)
    columns["region"] = details.region or location.region.value
    columns["side"] = details.side or location.side.value
    columns["relative_x_permille"] = location.relative_x_permille
    columns["relative_y_permille"] = location.relative_y_permille
    return columns


def _located(view: str, x_dmm: int, y_dmm: int, session: TreatmentSession) -> Location:
    try:
        return locate(View(view), x_dmm, y_dmm, Jaw(session.jaw))
    except NotOnFace as error:
        raise SessionError("That place is not on the face. Tap inside the drawing.") from error


def _insert(point: InjectionEntry) -> None:
    """The lock is per session: another session may bring the same key in the same moment."""
    try:
        with transaction.atomic():
            point.save(force_insert=True)
    except IntegrityError as error:
        if InjectionEntry.objects.filter(key=point.key).exists():
            raise PointConflict("This point was stored in another session already.") from error
        raise


def _same_or_conflict(
    stored: InjectionEntry, session: TreatmentSession, placed: dict
) -> InjectionEntry:
    same = stored.session_id == session.pk and all(
        getattr(stored, name) == value for name, value in placed.items()
    )
    if not same:
        raise PointConflict(
            f"Point {stored.number} was stored before with other content. Edit it instead."
        )
    return stored


def _standing(point: InjectionEntry) -> InjectionEntry:
    stored = InjectionEntry.objects.select_for_update().get(pk=point.pk)
    if stored.removed_at is not None:
        raise SessionError(f"Point {stored.number} was removed.")
    return stored


def _lock_on_tray(session: TreatmentSession, unit_id: int) -> UnitOfStock:
    if not session.tray.filter(unit_id=unit_id).exists():
        raise SessionError("That unit is not on the tray. Open it for this session first.")
    return lock_unit(unit_id)


def _check_remaining(unit: UnitOfStock, additional: int) -> None:
    if additional > unit.remaining:
        measure = unit.measure
        raise Overdrawn(
            f"{format_amount(unit.remaining, measure)} remain in unit {unit.label} "
            f"({unit.lot.product}), so {format_amount(additional, measure)} more cannot be drawn. "
            "Lower the amount or open another unit."
        )
