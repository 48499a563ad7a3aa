"""The occlusion log from a tablet. A line waits for nothing but the opening of its log."""

from records.charting.errors import Hold, Refused
from records.charting.services.bases import WAITS, check_given_up
from records.charting.services.operations import Act
from records.occlusions.errors import OcclusionError
from records.occlusions.models import Occlusion
from records.occlusions.services import Clocks, note_entry, open_log


def occlude(act: Act) -> None:
    data = act.op.data
    check_given_up(act, "The occlusion log was opened.")
    try:
        open_log(
            session=act.session, key=data["key"], clocks=_clocks(act), protocol=data["protocol"],
            actor=act.sender,
        )  # fmt: skip
    except OcclusionError as error:
        raise Refused(str(error)) from error


def note(act: Act) -> None:
    said = {name: value for name, value in act.op.data.items() if name not in {"key", "occlusion"}}
    log = Occlusion.objects.filter(session=act.session, key=act.op.data["occlusion"]).first()
    if log is None:
        raise Hold(WAITS)
    check_given_up(act, "A line of the occlusion log was written.")
    try:
        note_entry(
            occlusion=log, key=act.op.data["key"], said=said, clocks=_clocks(act), actor=act.sender
        )
    except OcclusionError as error:
        raise Refused(str(error)) from error


def _clocks(act: Act) -> Clocks:
    return Clocks(at=act.moment, tablet_at=act.op.made_at, by=act.author)
