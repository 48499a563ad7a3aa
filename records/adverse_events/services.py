"""Recording, changing and closing adverse events."""

import hashlib
from collections.abc import Iterable, Sequence

from django.db.models import QuerySet
from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.policy.queries import current_policy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from records.adverse_events.enums import EventOutcome
from records.adverse_events.errors import (
    EventClosed,
    EventOpen,
    OutcomeMissing,
    ReasonMissing,
)
from records.adverse_events.exports import REPORT_SOURCES, ReportField, by_section
from records.adverse_events.models import AdverseEvent
from records.adverse_events.queries import point_words
from records.reviews.services.scheduling import schedule_event_review
from records.sessions.models import InjectionEntry

EVENT_FIELDS = [
    "session", "lot", "product", "unit", "region", "side", "onset_on", "grade", "seriousness",
    "causality", "signs", "actions", "next_check_on", "outcome",
]  # fmt: skip
CLOSING_FIELDS = ["outcome", "closed_at", "closed_by"]


def record_event(
    *, event: AdverseEvent, actor, points: Sequence[InjectionEntry] = ()
) -> AdverseEvent:
    """
    Write down an adverse event; it is open until somebody closes it. Where a rule of the clinic
    asks for it, a review of its session is scheduled.

    Raises:
        ValueError: the session is another patient's.
    """
    _refuse_anothers_session(event)
    with acting(actor) as trail:
        event.recorded_at, event.recorded_by = timezone.now(), actor
        _complete(event)
        event.save()
        event.points.set(points)
        after = snapshot(event, EVENT_FIELDS) | _named(points)
        trail.add("adverse_event.recorded", event, patient_id=event.patient_id, after=after)
        schedule_event_review(event=event, trail=trail)
    return event


def change_event(
    *,
    event: AdverseEvent,
    actor,
    fields: Sequence[str] = EVENT_FIELDS,
    points: Sequence[InjectionEntry] | None = None,
) -> AdverseEvent:
    """
    Write what is known by now: what was done about it, how it stands. Once its session is known,
    the review that a rule of the clinic asks for is scheduled.

    Args:
        fields: what is written; the rest stays as someone else may just have saved it.
        points: those in question; None leaves them as they are.

    Raises:
        EventClosed: somebody closed it.
        ValueError: the session is another patient's.
    """
    _refuse_anothers_session(event)
    with acting(actor) as trail:
        stored = _lock_open(event)
        before = snapshot(stored, EVENT_FIELDS)
        for name in fields:
            setattr(stored, name, getattr(event, name))
        _complete(stored)
        stored.save(update_fields=EVENT_FIELDS)
        before, after = changes(before, snapshot(stored, EVENT_FIELDS))
        if points is not None:
            had, has = _named(_with_places(stored.points.all())), _named(points)
            stored.points.set(points)
            if had != has:
                before |= had
                after |= has
        if before or after:
            trail.add(
                "adverse_event.changed",
                stored,
                patient_id=stored.patient_id,
                before=before,
                after=after,
            )
        schedule_event_review(event=stored, trail=trail)
    return stored


def close_event(*, event: AdverseEvent, outcome: EventOutcome, actor) -> None:
    """
    Close an event with how it ended.

    Raises:
        OutcomeMissing: it still goes on, or the patient is recovering.
        EventClosed: somebody closed it already.
    """
    if not outcome.is_final:
        raise OutcomeMissing("Say how it ended before you close it.")
    with acting(actor) as trail:
        stored = _lock_open(event)
        before = snapshot(stored, CLOSING_FIELDS)
        stored.outcome, stored.closed_at, stored.closed_by = outcome, timezone.now(), actor
        stored.save(update_fields=CLOSING_FIELDS)
        before, after = changes(before, snapshot(stored, CLOSING_FIELDS))
        trail.add(
            "adverse_event.closed",
            stored,
            patient_id=stored.patient_id,
            before=before,
            after=after,
        )


def reopen_event(*, event: AdverseEvent, reason: str, actor) -> None:
    """
    Go on with an event that was closed: it came back, or the closing was a slip.

    Raises:
        ReasonMissing: no reason.
        EventOpen: it is open.
    """
    if not reason.strip():
        raise ReasonMissing("Say why it is opened again: the reason stays in the audit trail.")
    with acting(actor) as trail:
        stored = AdverseEvent.objects.select_for_update(of=("self",)).get(pk=event.pk)
        if not stored.is_closed:
            raise EventOpen("This event is open already.")
        stored.closed_at = stored.closed_by = None
        stored.save(update_fields=["closed_at", "closed_by"])
        trail.add(
            "adverse_event.reopened",
            stored,
            patient_id=stored.patient_id,
            reason=reason.strip(),
        )


def report_pdf(*, event: AdverseEvent, fields: Sequence[ReportField], actor) -> bytes:
    """
    The event as it stands, for a report to an authority. It changes with the event, so it is not
    kept; the trail holds its digest.
    """
    context = {
        "event": event,
        "sections": by_section(fields),
        "policy": current_policy(),
        "today": timezone.localdate(),
        "sources": REPORT_SOURCES,
    }
    pdf = render_pdf(document_html("print/adverse_event.html", context))
    with acting(actor) as trail:
        after = {"digest": hashlib.sha256(pdf).hexdigest()}
        trail.add("adverse_event.printed", event, patient_id=event.patient_id, after=after)
    return pdf


def _complete(event: AdverseEvent) -> None:
    """A unit names its lot, a lot its product."""
    if event.unit:
        event.lot = event.unit.lot
    if event.lot:
        event.product = None


def _with_places(points: QuerySet[InjectionEntry]) -> QuerySet[InjectionEntry]:
    return points.select_related("session").order_by("session__started_at", "number")


def _named(points: Iterable[InjectionEntry]) -> dict[str, list[str]]:
    """The points as the history tells them; nothing where there are none."""
    names = [point_words(point) for point in points]
    return {"points": names} if names else {}


def _lock_open(event: AdverseEvent) -> AdverseEvent:
    stored = AdverseEvent.objects.select_for_update(of=("self",)).get(pk=event.pk)
    if stored.is_closed:
        raise EventClosed("This event is closed. Open it again to write more.")
    return stored


def _refuse_anothers_session(event: AdverseEvent) -> None:
    if event.session and event.session.patient_id != event.patient_id:
        raise ValueError("The session is another patient's.")
