"""Anaesthesia from a tablet."""

from records.charting.enums import Kind
from records.charting.errors import Hold, Refused
from records.charting.services.bases import WAITS, check_thing, known_base
from records.charting.services.operations import Act
from records.sessions.models import Anaesthesia
from records.sessions.services.anaesthesia import (
    Anaesthetic,
    note_anaesthesia,
    remove_anaesthesia,
    restore_anaesthesia,
)


def numb(act: Act) -> None:
    said = {name: value for name, value in act.op.data.items() if name != "key"}
    note_anaesthesia(
        session=act.session, key=act.op.data["key"], given=Anaesthetic(**said),
        given_at=act.moment, actor=act.sender, head=act.op.id,
    )  # fmt: skip


def numb_off(act: Act) -> None:
    remove_anaesthesia(anaesthesia=_given(act), actor=act.sender, head=act.op.id)


def numb_back(act: Act) -> None:
    restore_anaesthesia(anaesthesia=_given(act), actor=act.sender, head=act.op.id)


def _given(act: Act) -> Anaesthesia:
    row = act.session.anaesthesia.filter(key=act.op.data["key"]).first()
    if row is None:
        if known_base(act) is None and act.op.base is None:
            raise Hold(WAITS)
        raise Refused("The anaesthetic was never stored. Give this up, or note it anew.")
    there = f"{row} was removed." if row.removed_at else f"{row} stands."
    check_thing(act, row, "point", f"{Kind(act.op.kind).label}.", there)
    return row
