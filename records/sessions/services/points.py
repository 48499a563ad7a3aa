"""Logging, changing and removing injection entries."""

import re
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.stock.models import UnitOfStock
from planning.amounts import format_amount
from planning.atlas.measurements import CHART_VERSION
from records.sessions.errors import NotOnTray, Overdrawn, PointConflict, SessionError
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.services.placing import PointDetails, columns_of, move_to
from records.sessions.services.sittings import lock_session, refuse_signed

POINT_FIELDS = [
    "unit", "view", "x_dmm", "y_dmm", "region", "side", "plane", "technique", "instrument",
    "gauge", "length_mm", "aspiration", "amount", "deviation",
]  # fmt: skip

# How SQLite and PostgreSQL name the rule that a key is there once.
_KEY_TWICE = re.compile(r"records_injectionentry[._]key\b|records_injectionentry_key_")

# Came later: in a digest and in the trail only where they say something.
EXTRA_POINT_FIELDS = ["reach_x_dmm", "reach_y_dmm", "picture", "marking", "confirmed_odd"]

PLACE_FIELDS = [
    "head", "x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm", "region", "side",
    "relative_x_permille", "relative_y_permille",
]  # fmt: skip


def point_snapshot(point: InjectionEntry, *names: str) -> dict:
    """The point for the trail or a digest: `names`, its fields, and of the later ones those set."""
    extra = snapshot(point, EXTRA_POINT_FIELDS).items()
    said = {name: value for name, value in extra if value not in (None, "")}
    return {**snapshot(point, [*names, *POINT_FIELDS]), **said}


@dataclass(frozen=True)
class NewPoint:
    """
    A point about to be logged.

    Attributes:
        key: the id made where the point was tapped.
        tapped_at: by the device's clock.
        head: the operation that logs it.
    """

    key: uuid.UUID
    details: PointDetails
    tapped_at: datetime
    head: uuid.UUID | None = None


def log_point(
    *,
    session: TreatmentSession,
    key: uuid.UUID,
    details: PointDetails,
    tapped_at: datetime,
    actor,
    head: uuid.UUID | None = None,
    is_locked: bool = False,
) -> InjectionEntry:
    """
    Store a point once, however often it is sent: again after signing too, so that a tablet whose
    answer was lost still learns that the point is safe.

    Args: as in `NewPoint`, and
        is_locked: `session` was read in this transaction, behind its row's lock.

    Raises: as `log_new_points`, and
        PointConflict: the key was sent before with other content.
    """
    with acting(actor):
        session = session if is_locked else lock_session(session.pk)
        if stored := _stored(key):
            return _same_or_conflict(stored, session, columns_of(details, session))
        new = [NewPoint(key, details, tapped_at, head)]
        (point,) = log_new_points(session=session, new=new, actor=actor, is_locked=True)
    return point


def log_new_points(
    *, session: TreatmentSession, new: Sequence[NewPoint], actor, is_locked: bool = False
) -> list[InjectionEntry]:
    """
    Store points that were not sent before, all of them or none, in as many statements as one.

    Args:
        is_locked: `session` was read in this transaction, behind its row's lock.

    Raises:
        PointConflict: one of the keys is stored already.
        Overdrawn: more than remains in a unit.
        NotOnTray: a unit is not on the session's tray.
        SessionError: a place is not on the chart, or not one of this session's photographs.
    """
    with acting(actor) as trail:
        session = refuse_signed(session if is_locked else lock_session(session.pk))
        points = [
            InjectionEntry(
                key=point.key,
                session=session,
                number=number,
                head=point.head,
                tapped_at=point.tapped_at,
                logged_by=actor,
                chart_version=CHART_VERSION,
                **columns_of(point.details, session),
            )
            for number, point in enumerate(new, start=_last_number(session) + 1)
        ]
        units = _lock_on_tray(session, {point.unit_id for point in points})
        for unit in units.values():
            _check_remaining(unit, sum(p.amount for p in points if p.unit_id == unit.pk))
        _insert(points)
        for point in points:
            after = point_snapshot(point, "session", "number")
            trail.add("point.logged", point, patient_id=session.patient_id, after=after)
    return points


def change_point(
    *, point: InjectionEntry, details: PointDetails, actor, head: uuid.UUID | None = None
) -> InjectionEntry:
    """
    Move or edit a point of an unsigned session.

    Raises: as `log_point`; a removed point does not change.
    """
    with acting(actor) as trail:
        session = refuse_signed(lock_session(point.session_id))
        point = _standing(point)
        before = _all_of(point)
        unit = _lock_on_tray(session, {details.unit_id})[details.unit_id]
        given_back = point.amount if point.unit_id == unit.pk else 0
        _check_remaining(unit, details.amount - given_back)
        placed = columns_of(details, session) | {"head": head, **_changed(actor)}
        for name, value in placed.items():
            setattr(point, name, value)
        point.save(update_fields=list(placed))
        before, after = changes(before, _all_of(point))
        trail.add("point.changed", point, patient_id=session.patient_id, before=before, after=after)
    return point


def move_point(
    *,
    point: InjectionEntry,
    x_dmm: int,
    y_dmm: int,
    actor,
    reach_x_dmm: int | None = None,
    reach_y_dmm: int | None = None,
    head: uuid.UUID | None = None,
) -> InjectionEntry:
    """
    Move a point on its view, and where it reaches to. Region and side follow the new place, unless
    the injector had overruled the chart at the old one: then what was said stands.

    Raises:
        SessionError: the place is not on the chart, or the point was removed.
    """
    with acting(actor) as trail:
        session = refuse_signed(lock_session(point.session_id))
        point = _standing(point)
        before = _all_of(point)
        move_to(point, x_dmm, y_dmm, session)
        point.reach_x_dmm, point.reach_y_dmm = reach_x_dmm, reach_y_dmm
        point.head = head
        point.save(update_fields=PLACE_FIELDS)
        before, after = changes(before, _all_of(point))
        trail.add("point.moved", point, patient_id=session.patient_id, before=before, after=after)
    return point


def remove_point(*, point: InjectionEntry, actor, head: uuid.UUID | None = None) -> None:
    """Take a point out of an unsigned session; removing it twice changes nothing."""
    with acting(actor) as trail:
        session = refuse_signed(lock_session(point.session_id))
        stored = InjectionEntry.objects.select_for_update().get(pk=point.pk)
        is_new, stored.head = stored.removed_at is None, head
        stored.removed_at = stored.removed_at or timezone.now()
        _save(stored, actor if is_new else None)
        if is_new:
            before = point_snapshot(stored, "number")
            trail.add("point.removed", stored, patient_id=session.patient_id, before=before)


def restore_point(*, point: InjectionEntry, actor, head: uuid.UUID | None = None) -> InjectionEntry:
    """
    Bring back a removed point as it was, its amount drawn again; a standing one stays as it is.

    Raises:
        Overdrawn: the unit no longer holds its amount.
        NotOnTray: the unit was taken off the tray meanwhile.
        SessionError: the photograph it was on is removed.
    """
    with acting(actor) as trail:
        session = refuse_signed(lock_session(point.session_id))
        stored = InjectionEntry.objects.select_for_update().get(pk=point.pk)
        is_new, stored.head = stored.removed_at is not None, head
        if is_new:
            if stored.picture is not None and stored.picture.removed_at is not None:
                raise SessionError("Its photograph was removed, so the point cannot come back.")
            unit = _lock_on_tray(session, {stored.unit_id})[stored.unit_id]
            _check_remaining(unit, stored.amount)
        stored.removed_at = None
        _save(stored, actor if is_new else None)
        if is_new:
            after = point_snapshot(stored, "number")
            trail.add("point.restored", stored, patient_id=session.patient_id, after=after)
    return stored


def _changed(actor) -> dict:
    return {"changed_at": timezone.now(), "changed_by": actor}


def _save(point: InjectionEntry, actor) -> None:
    """Whether it stands and its head; with an actor also that they changed it."""
    changed = _changed(actor) if actor else {}
    for name, value in changed.items():
        setattr(point, name, value)
    point.save(update_fields=["removed_at", "head", *changed])


def _all_of(point: InjectionEntry) -> dict:
    return snapshot(point, [*POINT_FIELDS, *EXTRA_POINT_FIELDS])


def _stored(key: uuid.UUID) -> InjectionEntry | None:
    return InjectionEntry.objects.filter(key=key).first()


def _last_number(session: TreatmentSession) -> int:
    """The highest number of the session's points; 0 while there are none."""
    numbers = session.points.order_by("-number").values_list("number", flat=True)
    return numbers.first() or 0


def _insert(points: list[InjectionEntry]) -> None:
    """The lock is per session: another session may bring the same key in the same moment."""
    try:
        InjectionEntry.objects.bulk_create(points)
    except IntegrityError as error:
        if _KEY_TWICE.search(str(error)):
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


def _lock_on_tray(session: TreatmentSession, pks: Iterable[int]) -> dict[int, UnitOfStock]:
    """The units, their rows locked. Lot and product, which only a refusal names, are not read."""
    on_tray = UnitOfStock.objects.filter(trays__session=session, pk__in=pks).order_by("pk")
    locked = on_tray.select_for_update(of=("self",), no_key=True)
    units = {unit.pk: unit for unit in locked}
    if units.keys() != set(pks):
        raise NotOnTray("That unit is not on the tray. Open it for this session first.")
    return units


def _check_remaining(unit: UnitOfStock, additional: int) -> None:
    if additional > unit.remaining:
        measure = unit.measure
        raise Overdrawn(
            f"{format_amount(unit.remaining, measure)} remain in unit {unit.label} "
            f"({unit.lot.product}), so {format_amount(additional, measure)} more cannot be drawn. "
            "Lower the amount or open another unit."
        )
