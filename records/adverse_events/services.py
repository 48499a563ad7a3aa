"""Recording, changing and closing adverse events."""

from collections.abc import Sequence

from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from records.adverse_events.enums import EventOutcome
from records.adverse_events.errors import (
    EventClosed,
    EventOpen,
    OutcomeMissing,
    ReasonMissing,
)
from records.adverse_events.models import AdverseEvent
from records.reviews.services.scheduling import schedule_event_review

EVENT_FIELDS = [
    "session", "lot", "region", "side", "onset_on", "grade", "signs", "actions", "outcome",
]  # fmt: skip
CLOSING_FIELDS = ["outcome", "closed_at", "closed_by"]


def record_event(*, event: AdverseEvent, actor) -> AdverseEvent:
    """
    Write down an adverse event; it is open until somebody closes it. Where a rule of the clinic
    asks for it, a review of its session is scheduled.

    Raises:
        ValueError: the session is another patient's.
    """
    _refuse_anothers_session(event)
    with acting(actor) as trail:
        event.recorded_at, event.recorded_by = timezone.now(), actor
        event.save()
        after = snapshot(event, EVENT_FIELDS)
        trail.add("adverse_event.recorded", event, patient_id=event.patient_id, after=after)
        schedule_event_review(event=event, trail=trail)
    return event


def change_event(
    *, event: AdverseEvent, actor, fields: Sequence[str] = EVENT_FIELDS
) -> AdverseEvent:
    """
    Write what is known by now: what was done about it, how it stands. Once its session is known,
    the review that a rule of the clinic asks for is scheduled.

    Args:
        fields: what is written; the rest stays as someone else may just have saved it.

    Raises:
        EventClosed: somebody closed it.
        ValueError: the session is another patient's.
    """
    _refuse_anothers_session(event)
    with acting(actor) as trail:
        stored = _lock_open(event)
        before = snapshot(stored, fields)
        for name in fields:
            setattr(stored, name, getattr(event, name))
        stored.save(update_fields=list(fields))
        before, after = changes(before, snapshot(stored, fields))
        if after:
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


def _lock_open(event: AdverseEvent) -> AdverseEvent:
    stored = AdverseEvent.objects.select_for_update(of=("self",)).get(pk=event.pk)
    if stored.is_closed:
        raise EventClosed("This event is closed. Open it again to write more.")
    return stored


def _refuse_anothers_session(event: AdverseEvent) -> None:
    if event.session and event.session.patient_id != event.patient_id:
        raise ValueError("The session is another patient's.")
