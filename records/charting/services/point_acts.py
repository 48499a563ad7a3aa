"""Points, markings and photographs from a tablet."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from clinic.stock.models import UnitOfStock
from planning.amounts import format_amount
from planning.atlas.regions import Region
from planning.vocabulary import Measure
from records.charting.enums import Kind
from records.charting.errors import Choice, Conflict, Hold, Refused
from records.charting.services.bases import WAITS, check_thing, known_base
from records.charting.services.operations import Act
from records.charting.services.tray_acts import NOT_USED, OTHER_UNIT, overdrawn
from records.sessions.errors import NotOnTray, Overdrawn
from records.sessions.models import InjectionEntry, Marking, SessionPicture
from records.sessions.services.markings import plan_marking, replan_marking, unplan_marking
from records.sessions.services.pictures import calibrate, drop_picture
from records.sessions.services.placing import PointDetails
from records.sessions.services.points import (
    NewPoint,
    change_point,
    log_new_points,
    log_point,
    move_point,
    remove_point,
    restore_point,
)

_SAME = (
    "view", "x_dmm", "y_dmm", "region", "side", "plane", "technique", "instrument", "aspiration",
    "amount", "gauge", "length_mm", "deviation", "reach_x_dmm", "reach_y_dmm", "confirmed_odd",
)  # fmt: skip
PLACE = ("x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm")


def log(act: Act) -> None:
    details = _details(act)
    try:
        log_point(
            session=act.session, key=act.op.data["key"], details=details,
            tapped_at=act.op.made_at, actor=act.sender, head=act.op.id, is_locked=act.is_locked,
        )  # fmt: skip
    except NotOnTray as error:
        raise _not_on_tray(act, act.op.data["unit"]) from error
    except Overdrawn as error:
        raise _overdrawn(act, error) from error


def log_all(acts: Sequence[Act]) -> None:
    """Points of one session, not sent before, in one go. What does not fit raises as it likes."""
    new = [NewPoint(act.op.data["key"], _details(act), act.op.made_at, act.op.id) for act in acts]
    first = acts[0]
    log_new_points(session=first.session, new=new, actor=first.sender, is_locked=first.is_locked)


def change(act: Act) -> None:
    point = _point(act)
    details = _details(act)
    try:
        change_point(point=point, details=details, actor=act.sender, head=act.op.id)
    except NotOnTray as error:
        raise _not_on_tray(act, act.op.data["unit"]) from error
    except Overdrawn as error:
        raise _overdrawn(act, error) from error


def move(act: Act) -> None:
    places = {name: act.op.data[name] for name in PLACE}
    move_point(point=_point(act), actor=act.sender, head=act.op.id, **places)


def remove(act: Act) -> None:
    remove_point(point=_point(act), actor=act.sender, head=act.op.id)


def restore(act: Act) -> None:
    restore_point(point=_point(act), actor=act.sender, head=act.op.id)


def plan(act: Act) -> None:
    plan_marking(
        session=act.session, marked_at=act.op.made_at, actor=act.sender, head=act.op.id,
        **act.op.data,
    )  # fmt: skip


def unplan(act: Act) -> None:
    unplan_marking(marking=_marking(act), actor=act.sender, head=act.op.id)


def replan(act: Act) -> None:
    replan_marking(marking=_marking(act), actor=act.sender, head=act.op.id)


def calibrate_picture(act: Act) -> None:
    picture = _picture(act)
    scale = {name: value for name, value in act.op.data.items() if name != "key"}
    calibrate(picture=picture, actor=act.sender, **scale)
    SessionPicture.objects.filter(pk=picture.pk).update(head=act.op.id)


def drop(act: Act) -> None:
    picture = _picture(act)
    drop_picture(picture=picture, actor=act.sender)
    SessionPicture.objects.filter(pk=picture.pk).update(head=act.op.id)


def _details(act: Act) -> PointDetails:
    """The point as services take it; what it names by key is looked up in this session."""
    data = act.op.data
    picture = _named(act, SessionPicture, data["picture"], "photograph")
    marking = _named(act, Marking, data["marking"], "marking")
    said = {name: data[name] for name in _SAME}
    return PointDetails(unit_id=data["unit"], picture_id=picture, marking_id=marking, **said)


def _named(act: Act, model: Any, key: UUID | None, what: str) -> int | None:
    if key is None:
        return None
    pk = model.objects.filter(session=act.session, key=key).values_list("pk", flat=True).first()
    if pk is None:
        raise Hold(f"The {what} it belongs to has not arrived yet.")
    return pk


def _point(act: Act) -> InjectionEntry:
    points = InjectionEntry.objects.select_related("unit__lot__product", "session")
    point = points.filter(session=act.session, key=act.op.data["key"]).first()
    if point is None:
        raise _missing(act, "point")
    check_thing(act, point, "point", _here(act), f"The clinic has {described(point)}")
    return point


def _marking(act: Act) -> Marking:
    marking = act.session.markings.filter(key=act.op.data["key"]).first()
    if marking is None:
        raise _missing(act, "marking")
    there = "The marking was removed." if marking.removed_at else "The marking stands."
    check_thing(act, marking, "point", _here(act), there)
    return marking


def _picture(act: Act) -> SessionPicture:
    picture = act.session.pictures.filter(key=act.op.data["key"]).first()
    if picture is None:
        raise Hold("The photograph has not arrived yet.")
    there = "The photograph was removed." if picture.removed_at else "It has another scale."
    check_thing(act, picture, "point", _here(act), there)
    return picture


def _missing(act: Act, what: str) -> Exception:
    """Its first operation is on its way, or was given up."""
    base = known_base(act)
    if base is None and act.op.base is None:
        return Hold(WAITS)
    return Refused(f"The {what} it is about was never stored. Give this up, or log it anew.")


def _here(act: Act) -> str:
    what = Kind(act.op.kind).label
    amount, unit = act.op.data.get("amount"), act.op.data.get("unit")
    if not amount:
        return f"{what}."
    named = UnitOfStock.objects.with_lot().filter(pk=unit).first()
    return f"{what} to {_amount(amount, named)}."


def described(point: InjectionEntry) -> str:
    """ "point 3: Zygomatic region, left, 0.2 mL.", or that it was removed."""
    amount = format_amount(point.amount, Measure(point.measure))
    place = f"{Region(point.region).label}, {point.get_side_display().lower()}, {amount}"
    end = " (removed)" if point.removed_at else ""
    return f"point {point.number}: {place}{end}."


def _amount(amount: int, unit: UnitOfStock | None) -> str:
    return format_amount(amount, unit.measure) if unit else "another amount"


def _not_on_tray(act: Act, unit_pk: int) -> Exception:
    """Held behind its opening in this sending; else none may be on its way, and a person says."""
    unit = UnitOfStock.objects.with_lot().filter(pk=unit_pk).first()
    if unit is None:
        return Refused("The clinic has no such unit. Choose one from the tray.")
    if (act.op.session, unit_pk) in act.batch.unsettled_units:
        return Hold(f"Unit {unit.label} is not on the tray yet: its opening has not been stored.")
    here = f"A point was drawn from unit {unit.label}."
    there = f"Unit {unit.label} is not on this session's tray, or not any more."
    again = Choice("again", "It is on the tray: send it anew")
    return Conflict("unit", here, there, [again, OTHER_UNIT, NOT_USED])


def _overdrawn(act: Act, error: Overdrawn) -> Refused:
    unit = UnitOfStock.objects.with_lot().get(pk=act.op.data["unit"])
    return overdrawn(unit, act.op.data["amount"], error)
