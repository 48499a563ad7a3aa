"""Putting somebody on the waiting list, changing what suits, and taking them off."""

from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.services import Trail, acting, changes, snapshot
from records.patients.models import Patient
from records.waiting_list.enums import Outcome
from records.waiting_list.errors import AlreadyWaiting, EntryClosed, ReasonMissing
from records.waiting_list.models import WaitingEntry

ENTRY_FIELDS = [
    "kind", "minutes", "practitioner", "site", "first_on", "last_on", "weekdays", "part",
    "notice_hours", "is_urgent", "urgent_reason", "note",
]  # fmt: skip


def add_entry(*, entry: WaitingEntry, actor) -> WaitingEntry:
    """
    Put a patient on the waiting list; they wait from now on.

    Raises:
        AlreadyWaiting: for this kind of visit already.
        ReasonMissing: urgent without saying why.
    """
    with acting(actor) as trail:
        entry.added_at, entry.added_by = timezone.now(), actor
        _mark_urgent(entry, actor)
        _save(entry, trail)
        trail.add(
            "waiting_list.added",
            entry,
            patient_id=entry.patient_id,
            after=snapshot(entry, ENTRY_FIELDS),
        )
    return entry


def change_entry(*, entry: WaitingEntry, actor) -> WaitingEntry:
    """
    Save what suits; the place in the order stays. An open offer stays as well.

    Raises:
        EntryClosed: it left the list meanwhile.
        AlreadyWaiting, ReasonMissing: as `add_entry`.
    """
    with acting(actor) as trail:
        stored = standing(entry)
        before = snapshot(stored, ENTRY_FIELDS)
        entry.urgent_by = stored.urgent_by if stored.is_urgent else None
        _mark_urgent(entry, actor)
        before, after = changes(before, snapshot(entry, ENTRY_FIELDS))
        if not after:
            return stored
        _save(entry, trail, update_fields=[*ENTRY_FIELDS, "urgent_by"])
        trail.add(
            "waiting_list.changed", entry, patient_id=entry.patient_id, before=before, after=after
        )
    return entry


def reopen_entry(*, entry: WaitingEntry, actor) -> WaitingEntry:
    """
    Let somebody wait on, at their old place: the booking was no answer to what they wait for.

    Raises:
        EntryClosed: they were taken off on purpose; put them on anew.
        AlreadyWaiting: they wait for this kind of visit again already.
    """
    with acting(actor) as trail:
        stored = _locked(entry)
        if stored.is_standing:
            return stored
        if stored.outcome != Outcome.BOOKED:
            raise EntryClosed("This entry was taken off the list. Put the patient on it anew.")
        stored.closed_at = stored.closed_by = stored.appointment = None
        stored.outcome = ""
        _save(stored, trail, update_fields=["closed_at", "closed_by", "appointment", "outcome"])
        trail.add("waiting_list.reopened", stored, patient_id=stored.patient_id)
    return stored


def close(entry: WaitingEntry, outcome: Outcome, trail: Trail, *, reason="", appointment=None):
    """Take an entry off the list, as a part of the caller's act; its row is locked."""
    entry.closed_at, entry.closed_by = timezone.now(), trail.actor
    entry.outcome, entry.reason, entry.appointment = outcome, reason, appointment
    entry.save(update_fields=["closed_at", "closed_by", "outcome", "reason", "appointment"])
    trail.add(
        f"waiting_list.{outcome.value}",
        entry,
        patient_id=entry.patient_id,
        after={"outcome": outcome},
        reason=reason,
    )


def lock_patient(entry: WaitingEntry) -> None:
    """
    Lock the row of the patient, which every act on their entries and offers takes first. As
    `booking.lock_held` does, whose order (practitioners, rooms, patients) stays whole.
    """
    list(
        Patient.objects.select_for_update(no_key=True)
        .filter(pk=entry.patient_id)
        .values_list("pk", flat=True)
    )


def standing(entry: WaitingEntry) -> WaitingEntry:
    """
    The entry as it is stored, its row locked.

    Raises:
        EntryClosed: it left the list.
    """
    stored = _locked(entry)
    if not stored.is_standing:
        outcome = Outcome(stored.outcome).label.lower()
        raise EntryClosed(f"This entry has left the waiting list meanwhile: {outcome}.")
    return stored


def _locked(entry: WaitingEntry) -> WaitingEntry:
    lock_patient(entry)
    return WaitingEntry.objects.select_for_update(no_key=True).get(pk=entry.pk)


def _mark_urgent(entry: WaitingEntry, actor) -> None:
    entry.urgent_reason = entry.urgent_reason.strip() if entry.is_urgent else ""
    if not entry.is_urgent:
        entry.urgent_by = None
    elif not entry.urgent_reason:
        raise ReasonMissing("Say why it is urgent.")
    elif entry.urgent_by is None:
        entry.urgent_by = actor


def _save(entry: WaitingEntry, trail: Trail, *, update_fields=None) -> None:
    try:
        with trail.part():
            entry.save(update_fields=update_fields)
    except IntegrityError as error:
        rivals = WaitingEntry.objects.standing().filter(patient=entry.patient_id, kind=entry.kind)
        if not rivals.exclude(pk=entry.pk).exists():
            raise
        kind = entry.get_kind_display().lower()
        raise AlreadyWaiting(
            f"The patient waits for this already ({kind}). Change that entry instead."
        ) from error
