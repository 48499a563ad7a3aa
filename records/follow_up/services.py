"""Noting a try to reach a patient."""

from datetime import datetime
from typing import Any

from django.utils import timezone

from clinic.audit.services import acting
from planning.follow_up import TryOutcome, Way
from records.adverse_events.models import AdverseEvent
from records.follow_up.errors import AttemptRefused
from records.follow_up.models import ContactAttempt
from records.patients.models import Patient
from records.reviews.models import Review
from records.reviews.services.acts import lock_open

FURTHEST_DAYS = 366


def note_attempt(
    *,
    about: Review | AdverseEvent,
    way: Way,
    outcome: TryOutcome,
    actor,
    note: str = "",
    again_at: datetime | None = None,
) -> ContactAttempt:
    """
    Write down one try to reach a patient about an open review or after an open adverse event.

    The number or address that is on record at that moment stays with it.

    Raises:
        ReviewClosed: the review is done or excused.
        AttemptRefused: the event is closed, the outcome does not go with the way, or a time is
            missing, does not go with the outcome, or does not lie ahead.
    """
    now = timezone.now()
    _refuse_odd(way, outcome, again_at, now)
    with acting(actor) as trail:
        stored = lock_open(about) if isinstance(about, Review) else _lock_event(about)
        attempt = ContactAttempt(
            **{"review" if isinstance(stored, Review) else "event": stored},
            way=way, outcome=outcome, again_at=again_at, note=note.strip(),
            used=_used(stored.patient, way), at=now, by=actor,
        )  # fmt: skip
        attempt.save()
        after: dict[str, Any] = {"by": way.label, "outcome": attempt.words, "note": attempt.note}
        if again_at:
            after["again_from"] = again_at
        kind = "review" if isinstance(stored, Review) else "adverse_event"
        trail.add(
            f"{kind}.attempt_noted", stored, patient_id=stored.patient_id,
            after={name: value for name, value in after.items() if value},
        )  # fmt: skip
    return attempt


def _refuse_odd(way: Way, outcome: TryOutcome, again_at: datetime | None, now: datetime) -> None:
    if not outcome.fits(way):
        raise AttemptRefused(
            f"“{outcome.label}” goes with a call. Choose another outcome.", "outcome"
        )
    if outcome is TryOutcome.LATER and again_at is None:
        raise AttemptRefused("Say from when on the patient is to be called again.", "again_at")
    if again_at is None:
        return
    if not outcome.may_name_when:
        raise AttemptRefused(
            f"“{outcome.words(way)}” goes without a time to call again: leave it empty.",
            "again_at",
        )
    if again_at <= now:
        raise AttemptRefused("Choose a time that still lies ahead.", "again_at")
    if (again_at - now).days > FURTHEST_DAYS:
        raise AttemptRefused("That is more than a year ahead. Check the year.", "again_at")


def _lock_event(event: AdverseEvent) -> AdverseEvent:
    stored = AdverseEvent.objects.select_for_update(of=("self",)).get(pk=event.pk)
    if stored.is_closed:
        raise AttemptRefused("This was closed meanwhile; nobody needs to be called about it.")
    return stored


def _used(patient: Patient, way: Way) -> str:
    return {Way.EMAIL: patient.email, Way.LETTER: patient.address}.get(way, patient.phone)
