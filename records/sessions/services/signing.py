"""Signing a session, and the addenda that come after."""

import hashlib
import json
import uuid
from datetime import date, datetime
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Q
from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from clinic.stock.enums import MovementKind
from clinic.stock.services import lock_unit, move_unit, waste
from records.appointments.enums import AppointmentState
from records.appointments.services.booking import in_the_way
from records.appointments.services.states import locked
from records.gates.services import DECISION_FIELDS
from records.reviews.enums import DateCause
from records.reviews.models import Review
from records.reviews.services.moving import move_review
from records.reviews.services.scheduling import schedule_reviews
from records.sessions.enums import LEFT_OVER, Remainder
from records.sessions.errors import RemainderOpen, SessionError
from records.sessions.models import Addendum, InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.queries.flags import flags_to_keep
from records.sessions.queries.points import session_points
from records.sessions.queries.tray import session_tray
from records.sessions.services.anaesthesia import ANAESTHESIA_FIELDS
from records.sessions.services.markings import MARKING_FIELDS
from records.sessions.services.points import point_snapshot
from records.sessions.services.sittings import MEASURES, SESSION_FIELDS, lock_unsigned
from records.time_out.services import CHECK_FIELDS

SIGNATURE_FIELDS = ["signed_at", "signed_by", "signed_name"]
OCCLUSION_LINE = [
    "key", "what", "at", "signs", "refill_tenths", "other_tenths", "pain", "dose_centiunits",
    "diluent_ul", "unit", "lot", "region", "side", "place", "minutes", "moment", "picture", "whom",
    "text", "grade",
]  # fmt: skip
SIGNED_PICTURE_FIELDS = ["key", "digest", "width", "height", "x1", "y1", "x2", "y2", "distance_dmm"]


def remainder_choices(row: SessionUnit) -> list[Remainder]:
    """What can become of the rest of a unit: nothing to choose when it is empty."""
    if row.unit.is_empty:
        return [Remainder.EMPTY]
    if row.unit.opening.patient_id is None:
        return [Remainder.SHARED, Remainder.WASTED]
    if row.unit.opening.patient_id == row.session.patient_id:
        return [Remainder.WASTED, Remainder.KEPT]
    return [Remainder.WASTED]


def sign_session(
    *,
    session: TreatmentSession,
    remainders: dict[int, Remainder],
    actor,
    made_at: datetime | None = None,
    head: uuid.UUID | None = None,
) -> TreatmentSession:
    """
    Lock the session for good under the injector's name.

    Every unit on the tray is accounted for, the reviews that the clinic's rules ask for are
    scheduled, and the appointment is marked as done, all in one transaction.

    Args:
        remainders: unit id -> what became of what was left; empty units need none.
        made_at: when the hand signed, if that was on a tablet and arrives only now.
        head: the operation that signs.

    Raises:
        SessionError: somebody else than the injector of the session signs.
        RemainderOpen: a unit with something left in it is missing from `remainders`, or the choice
            does not fit it.
    """
    with acting(actor) as trail:
        session = lock_unsigned(session.pk)
        if actor.pk != session.injector_id:
            raise SessionError(f"Only {session.injector}, who injected, can sign this session.")
        for row in session.tray.order_by("unit_id"):
            row.unit = lock_unit(row.unit_id)
            row.session = session
            _account_for(row, remainders.get(row.unit_id), actor, trail)
        _close_appointment(session, trail)
        session.signed_at, session.signed_by = timezone.now(), actor
        session.signature_made_at, session.head = made_at, head
        session.signed_flags = flags_to_keep(
            session, session_points(session), session_tray(session)
        )
        session.signed_name = ", ".join(filter(None, [actor.full_name, actor.registration_number]))
        session.signed_digest = content_digest(session)
        session.save(
            update_fields=[
                *SIGNATURE_FIELDS,
                "signature_made_at",
                "signed_flags",
                "signed_digest",
                "head",
            ]
        )
        trail.add(
            "session.signed",
            session,
            patient_id=session.patient_id,
            after=snapshot(session, ["signed_at", "signed_name", "signed_digest"]),
        )
        schedule_reviews(session=session, trail=trail)
    return session


def _account_for(row: SessionUnit, choice: Remainder | None, actor, trail: Trail) -> None:
    unit, left = row.unit, row.unit.remaining
    allowed = remainder_choices(row)
    if unit.is_empty:
        choice = Remainder.EMPTY
    if choice not in allowed:
        labels = " or ".join(f"“{option.label}”" for option in allowed)
        raise RemainderOpen(f"Say what became of the rest of unit {unit.label}: {labels}.")
    if choice == Remainder.WASTED:
        waste(
            unit=unit, amount=left, reason=LEFT_OVER, actor=actor,
            trail=trail,
        )  # fmt: skip
    elif choice == Remainder.KEPT:
        move_unit(unit, MovementKind.KEPT, amount=left, actor=actor)
    row.remainder, row.remainder_amount = choice, left
    row.save(update_fields=["remainder", "remainder_amount"])


def _close_appointment(session: TreatmentSession, trail: Trail) -> None:
    """
    One that was given up (cancelled, not attended) took place after all if its time is still free;
    where somebody else has it now it stays given up, and the signature counts.
    """
    if session.appointment is None:
        return
    appointment = locked(session.appointment)
    before = AppointmentState(appointment.state)
    if before is AppointmentState.DONE or (not before.takes_place and in_the_way(appointment)):
        return
    appointment.state, appointment.held_until = AppointmentState.DONE, None
    appointment.save(update_fields=["state", "held_until"])
    trail.add(
        "appointment.done",
        appointment,
        patient_id=session.patient_id,
        before={"state": before},
        after={"state": appointment.state},
    )


def content_digest(session: TreatmentSession) -> str:
    """
    SHA-256 over what the signature covers: the session, its standing points, markings,
    photographs and anaesthesia, its tray, and the occlusion logs written by then. What came later
    than the first signatures stands in it only where it says something, so that those stay valid.
    """
    content: dict[str, Any] = {
        "session": snapshot(session, ["patient", *SESSION_FIELDS])
        | _set_ones(snapshot(session, MEASURES)),
        "points": [
            {"key": point.key, **point_snapshot(point, "number")}
            for point in session.points.standing().order_by("number")
        ],
        "tray": [
            snapshot(row, ["unit", "deviation", "remainder", "remainder_amount"])
            for row in session.tray.order_by("unit_id")
        ],
        "signed": snapshot(session, SIGNATURE_FIELDS)
        | _set_ones(snapshot(session, ["signature_made_at"])),
    }
    if anaesthesia := session.anaesthesia.standing().order_by("id"):
        content["anaesthesia"] = [snapshot(row, ANAESTHESIA_FIELDS) for row in anaesthesia]
    if decisions := session.gate_decisions.order_by("id"):
        content["stops"] = [snapshot(row, DECISION_FIELDS) for row in decisions]
    if checks := session.time_out_checks.order_by("id"):
        content["time_out"] = [snapshot(row, CHECK_FIELDS) for row in checks]
    if session.signed_flags:
        content["flags"] = session.signed_flags
    if markings := session.markings.standing().order_by("id"):
        content["markings"] = [snapshot(marking, MARKING_FIELDS) for marking in markings]
    if pictures := session.pictures.standing().order_by("id"):
        content["pictures"] = [snapshot(picture, SIGNED_PICTURE_FIELDS) for picture in pictures]
    if logged := _logs_written(session):
        content["occlusions"] = logged
    text = json.dumps(content, cls=DjangoJSONEncoder, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _set_ones(fields: dict) -> dict:
    return {name: value for name, value in fields.items() if value is not None}


def _logs_written(session: TreatmentSession) -> list[dict[str, Any]]:
    """
    Occlusion logs as they stood at the signature. Lines may still come: those are on the log's own
    sheet, with a digest of theirs.
    """
    by_then = Q(received_at__lte=session.signed_at) if session.signed_at else Q()
    return [
        {
            "key": log.key,
            "at": log.at,
            "entries": list(log.entries.filter(by_then).order_by("id").values(*OCCLUSION_LINE)),
        }
        for log in session.occlusions.filter(by_then).order_by("id")
    ]


def add_addendum(
    *,
    session: TreatmentSession,
    reason: str,
    text: str,
    actor,
    author=None,
    point: InjectionEntry | None = None,
    moved: dict[Review, date] | None = None,
) -> Addendum:
    """
    Add to a signed session, and move its open reviews where what is added asks for it: the session
    stays as it was signed, so the rules would choose the old day again. The same words of the same
    author twice are one addendum: the second time the form was sent because its answer was lost.

    Args:
        author: whose words they are, if `actor` only brings them.
        moved: reviews of the session, and the day each is moved to.

    Raises:
        SessionError: the session is not signed yet, reason or text is empty, or the point or a
            review is another session's.
        ReviewClosed, ReviewBooked, DayRefused: as `records.reviews.services.moving.move_review`.
    """
    if not reason.strip() or not text.strip():
        raise SessionError("An addendum says what is added and why.")
    if point is not None and point.session_id != session.pk:
        raise SessionError("That point belongs to another session.")
    if any(review.session_id != session.pk for review in moved or {}):
        raise SessionError("That review belongs to another session.")
    with acting(actor) as trail:
        stored = TreatmentSession.objects.select_for_update(of=("self",)).get(pk=session.pk)
        if not stored.is_signed:
            raise SessionError("This session is not signed yet, so it can be changed itself.")
        said = {
            "point": point,
            "author": author or actor,
            "reason": reason.strip(),
            "text": text.strip(),
        }
        if again := stored.addenda.filter(**said).first():
            return again
        addendum = Addendum.objects.create(session=stored, written_at=timezone.now(), **said)
        after = snapshot(addendum, ["session", "point", "reason", "text"])
        trail.add("addendum.written", addendum, patient_id=stored.patient_id, after=after)
        for review, due_on in (moved or {}).items():
            why = f"Addendum: {addendum.reason}"
            move_review(
                review=review, due_on=due_on, reason=why, actor=actor, cause=DateCause.AMENDED
            )
    return addendum
