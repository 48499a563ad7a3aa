"""Which function applies which kind, and what holds for all of them."""

from collections.abc import Callable

from django.utils import timezone

from clinic.staff.models import User
from records.charting.enums import Kind
from records.charting.errors import Choice, Conflict, Refused
from records.charting.services import (
    anaesthesia_acts,
    before_acts,
    occlusion_acts,
    point_acts,
    session_acts,
    tray_acts,
)
from records.charting.services.operations import Act, SentOperation
from records.sessions.models import TreatmentSession

# Each gives the session back if it is another object than the act's.
ACTS: dict[Kind, Callable[[Act], TreatmentSession | None]] = {
    Kind.START: session_acts.start,
    Kind.EDIT: session_acts.edit,
    Kind.SET_ASIDE: session_acts.set_aside,
    Kind.SIGN: session_acts.sign,
    Kind.ADDENDUM: session_acts.addendum,
    Kind.OPEN: tray_acts.open_unit,
    Kind.PUT_BACK: tray_acts.put_back,
    Kind.WASTE: tray_acts.waste,
    Kind.LOG: point_acts.log,
    Kind.CHANGE: point_acts.change,
    Kind.MOVE: point_acts.move,
    Kind.REMOVE: point_acts.remove,
    Kind.RESTORE: point_acts.restore,
    Kind.PLAN: point_acts.plan,
    Kind.UNPLAN: point_acts.unplan,
    Kind.REPLAN: point_acts.replan,
    Kind.NUMB: anaesthesia_acts.numb,
    Kind.NUMB_OFF: anaesthesia_acts.numb_off,
    Kind.NUMB_BACK: anaesthesia_acts.numb_back,
    Kind.TIME_OUT: before_acts.time_out,
    Kind.DECIDE: before_acts.decide,
    Kind.OCCLUDE: occlusion_acts.occlude,
    Kind.OCCLUSION_NOTE: occlusion_acts.note,
    Kind.CALIBRATE: point_acts.calibrate_picture,
    Kind.DROP_PICTURE: point_acts.drop,
}

# Those about a thing with a head of its own, those that write the session's head themselves, and
# the addendum, for a signed session takes no change.
# What may come after the signature: a blocked vessel shows when it shows.
AFTER_SIGNING = frozenset({Kind.OCCLUDE, Kind.OCCLUSION_NOTE})
KEEPS_NO_HEAD = frozenset(ACTS) - {Kind.OPEN, Kind.PUT_BACK, Kind.WASTE}

ADD_TO_NOTE = [
    Choice("addendum", "Write it down as an addendum"),
    Choice("drop", "Leave the signed session as it is"),
]
# What was done on the tablet shows that there is a treatment to chart.
CHART_ANEW = [
    Choice("anew", "Go on in a new session of this patient"),
    Choice("drop", "Leave it out: it did not happen"),
]


def check_session(op: SentOperation, session: TreatmentSession, author: User) -> None:
    """
    Refuse what `author` may not do in the session as it is now.

    Raises:
        Refused: it is another injector's.
        Conflict: it was signed or set aside meanwhile.
    """
    if op.kind == Kind.ADDENDUM:
        return
    if session.injector_id != author.pk:
        raise Refused(f"Only {session.injector}, who injects, writes in this session.")
    if session.is_signed and op.kind in AFTER_SIGNING:
        return
    if session.is_signed:
        how, at, ways = f"signed by {session.signed_name}", session.signed_at, ADD_TO_NOTE
    elif session.is_set_aside and op.kind != Kind.SET_ASIDE:
        how, at, ways = "set aside as started by mistake", session.set_aside_at, CHART_ANEW
    else:
        return
    there = f"The session was {how} on {timezone.localtime(at):%d %b %Y at %H:%M}."
    raise Conflict("session", f"{Kind(op.kind).label}.", there, ways)
