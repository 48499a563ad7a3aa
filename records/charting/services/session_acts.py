"""Starting, editing, signing and adding to a session from a tablet."""

from datetime import datetime, timedelta

from django.utils import timezone

from clinic.tablets.services import check_signature
from records.appointments.models import Appointment
from records.charting.enums import Kind
from records.charting.errors import DROP, Choice, Conflict, Refused
from records.charting.models import Operation
from records.charting.services.bases import changed_by, check_given_up, known_base
from records.charting.services.operations import Act
from records.patients.models import Patient
from records.sessions.errors import (
    AppointmentRefused,
    RemainderOpen,
    SessionNotEmpty,
    UnsignedElsewhere,
)
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import add_addendum, sign_session
from records.sessions.services.sittings import change_session, set_aside_session, start_session

# A tablet that lay forgotten for longer has lost its sense of time: then it starts now.
LONGEST_AWAY = timedelta(days=7)
# A signature that arrives later than this was made without network, and says when.
PROMPT = timedelta(minutes=2)


def start(act: Act) -> TreatmentSession:
    data = act.op.data
    patient = Patient.objects.filter(pk=data["patient"]).first()
    if patient is None:
        raise Refused("The clinic has no such patient. Start from the patient's page.")
    appointment = None
    if data["appointment"]:
        appointment = Appointment.objects.filter(pk=data["appointment"]).first()
        if appointment is None:
            raise _without_appointment("The clinic has no such appointment.")
    started_at, late_reason = _started(act)
    here = f"A session of {patient} was started."
    try:
        session = start_session(
            patient=patient, injector=act.author, appointment=appointment, jaw=data["jaw"],
            started_at=started_at, late_reason=late_reason, key=act.op.session, head=act.op.id,
            actor=act.sender,
        )  # fmt: skip
    except UnsignedElsewhere as error:
        raise Conflict("session", here, str(error), [DROP]) from error
    except AppointmentRefused as error:
        raise _without_appointment(str(error)) from error
    if session.key != act.op.session:
        at = timezone.localtime(session.started_at)
        raise Conflict(
            "session", here,
            f"A session of {patient} that you started on {at:%d %b %Y at %H:%M} is not signed yet.",
            [Choice("again", "Go on in that session"), DROP],
            existing=str(session.key),
        )  # fmt: skip
    return session


def _without_appointment(reason: str) -> Conflict:
    here = "The session was started from an appointment."
    choices = [Choice("again", "Start it without the appointment"), DROP]
    return Conflict("session", here, reason, choices, data={"appointment": None})


def _started(act: Act) -> tuple[datetime, str]:
    """When it started by the clinic's clock, and why it is written down later if it is."""
    now = act.batch.now
    started_at = min(act.made_at, now)
    if started_at < now - LONGEST_AWAY:
        return now, ""
    received = timezone.localdate(now)
    if timezone.localdate(started_at) == received:
        return started_at, ""
    day = f"{received.day} {received:%B %Y}"
    return started_at, f"Charted on the tablet without network, received {day}"


def edit(act: Act) -> TreatmentSession:
    session, data = act.session, act.op.data
    base = known_base(act)
    if act.op.base != session.head:
        _refuse_edited_meanwhile(act, base)
    return change_session(session=session, actor=act.sender, head=act.op.id, **data)


def _refuse_edited_meanwhile(act: Act, base: Operation | None) -> None:
    """Another tablet's edit that this one had not seen: neither may vanish behind the other."""
    theirs = Operation.objects.filter(session=act.session, kind=Kind.EDIT).exclude(
        device=act.batch.device
    )
    if base is not None:
        theirs = theirs.filter(received_at__gt=base.received_at)
    last = theirs.order_by("received_at").last()
    if last is None:
        return
    session = act.session
    has = f"Note: “{session.note}”." if session.note else "Note: empty."
    said = act.op.data.get("note")
    here = f"Note “{said}”." if said is not None else "Changed."
    choices = [Choice("again", "Take this tablet's"), DROP]
    raise Conflict("session", here, f"{has} {changed_by(last)}", choices)


def set_aside(act: Act) -> TreatmentSession:
    known_base(act)
    try:
        return set_aside_session(session=act.session, actor=act.sender, head=act.op.id)
    except SessionNotEmpty as error:
        here = "The session was set aside as started by mistake."
        keep = Choice("drop", "Keep the session")
        raise Conflict("session", here, str(error), [keep]) from error


def sign(act: Act) -> TreatmentSession:
    op, session, batch = act.op, act.session, act.batch
    known_base(act)
    is_own = check_signature(
        user=act.author, device=batch.device, op_id=op.id, session_key=op.session,
        proof=op.data["proof"],
    )  # fmt: skip
    if not is_own:
        raise Refused(
            "The signature does not fit your code on this tablet. Set the code anew and sign "
            "again, or sign on the session's page with your password."
        )
    _refuse_unseen(act)
    made_at = act.moment
    is_late = batch.now - made_at > PROMPT
    try:
        return sign_session(
            session=session, remainders=op.data["remainders"], actor=act.author,
            made_at=made_at if is_late else None, head=op.id,
        )  # fmt: skip
    except RemainderOpen as error:
        here = "The session was signed."
        edit = Choice("edit", "Say it anew and sign again")
        raise Conflict("session", here, str(error), [edit]) from error


def _refuse_unseen(act: Act) -> None:
    """What another tablet brought that the signer had not seen is not signed unseen."""
    seen = _seen(act)
    unseen = Operation.objects.filter(session=act.session, received_at__gt=seen).exclude(
        device=act.batch.device
    )
    count = unseen.exclude(device=None).count()
    if count:
        what = "One entry" if count == 1 else f"{count} entries"
        raise Conflict(
            "session",
            "The session was signed.",
            f"{what} from another tablet came that were not on this screen when you signed.",
            [Choice("edit", "Look at them, then sign again")],
        )


def _seen(act: Act) -> datetime:
    """As of when the signer had the clinic's state: as the tablet says, else when it was signed."""
    try:
        seen = datetime.fromisoformat(act.op.data["seen"])
    except ValueError:
        return act.moment
    return seen if seen.utcoffset() is not None else act.moment


def addendum(act: Act) -> None:
    data, session = act.op.data, act.session
    known_base(act)
    check_given_up(act, f"Addendum: “{data['text']}”.")
    point = None
    if data["point"]:
        point = session.points.filter(key=data["point"]).first()
        if point is None:
            raise Refused("The point it is about is not in this session.")
    add_addendum(
        session=session, reason=data["reason"], text=data["text"], point=point, actor=act.sender,
        author=act.author,
    )  # fmt: skip
