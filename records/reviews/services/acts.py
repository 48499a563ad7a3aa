"""Booking, closing and opening again."""

from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from records.appointments.models import Appointment
from records.appointments.services.booking import reserve
from records.reviews.enums import ReviewOutcome
from records.reviews.errors import ReasonMissing, ReviewBooked, ReviewClosed, ReviewOpen
from records.reviews.models import Review

CLOSING_FIELDS = ["closed_at", "closed_by", "outcome", "excuse"]


def book_review(*, review: Review, appointment: Appointment, actor) -> Appointment:
    """
    Book the appointment at which an open review takes place, both in one transaction.

    The appointment's patient is the review's.

    Raises:
        ReviewClosed: the review is done or excused.
        ReviewBooked: it has an appointment already, to come or never said to have taken place.
        TimeTaken: as `records.appointments.services.book`.
    """
    with acting(actor) as trail:
        stored = lock_unbooked(review)
        appointment.patient_id = stored.patient_id
        reserve(appointment=appointment, trail=trail)
        note_visit(stored, appointment, trail)
    return appointment


def link_appointment(*, review: Review, appointment: Appointment, trail: Trail) -> None:
    """
    Note the appointment at which an open review takes place, as a part of the caller's act.

    Raises:
        ReviewClosed: the review is done or excused.
        ValueError: the appointment is another patient's.
    """
    note_visit(lock_open(review), appointment, trail)


def lock_unbooked(review: Review) -> Review:
    """
    The review as it is stored, locked.

    Raises:
        ReviewClosed: the review is done or excused.
        ReviewBooked: it has an appointment already, to come or never said to have taken place.
    """
    stored = lock_open(review)
    refuse_booked(stored)
    _refuse_unsaid(stored)
    return stored


def note_visit(stored: Review, appointment: Appointment, trail: Trail) -> None:
    """Note the visit with a review whose row is locked. Raises as `link_appointment`."""
    if appointment.patient_id != stored.patient_id:
        raise ValueError("The appointment is another patient's.")
    stored.appointment, stored.booked_at = appointment, timezone.now()
    stored.save(update_fields=["appointment", "booked_at"])
    trail.add(
        "review.booked",
        stored,
        patient_id=stored.patient_id,
        after={"appointment": appointment.pk},
    )


def mark_done(*, review: Review, actor) -> None:
    """Close a review that took place."""
    _close(review, ReviewOutcome.DONE, excuse="", actor=actor)


def excuse(*, review: Review, reason: str, actor) -> None:
    """
    Close a review that will not take place; the reason stays with it.

    Raises:
        ReasonMissing: no reason.
        ReviewClosed: the review is done or excused.
    """
    if not reason.strip():
        raise ReasonMissing("Say why the review is not needed.")
    _close(review, ReviewOutcome.EXCUSED, excuse=reason.strip(), actor=actor)


def _close(review: Review, outcome: ReviewOutcome, *, excuse: str, actor) -> None:
    with acting(actor) as trail:
        stored = lock_open(review)
        stored.closed_at, stored.closed_by = timezone.now(), actor
        stored.outcome, stored.excuse = outcome, excuse
        stored.validate_constraints()
        stored.save(update_fields=CLOSING_FIELDS)
        trail.add(f"review.{outcome}", stored, patient_id=stored.patient_id, reason=excuse)


def reopen(*, review: Review, actor, reason: str = "") -> None:
    """
    Put a review that was closed by mistake back on the work list.

    A slip that is noticed on the day of the closing explains itself; later it takes a reason. What
    the review was closed with stays in the audit trail.

    Raises:
        ReviewOpen: it is not closed.
        ReasonMissing: it was closed on an earlier day, and no reason is given.
    """
    with acting(actor) as trail:
        stored = Review.objects.select_for_update().get(pk=review.pk)
        if stored.closed_at is None:
            raise ReviewOpen("This review is on the work list already.")
        if not (reason.strip() or stored.closed_today):
            raise ReasonMissing("Say why the review is opened again.")
        before = snapshot(stored, CLOSING_FIELDS)
        stored.closed_at = stored.closed_by = None
        stored.outcome = stored.excuse = ""
        stored.save(update_fields=CLOSING_FIELDS)
        trail.add(
            "review.reopened",
            stored,
            patient_id=stored.patient_id,
            before=before,
            reason=reason.strip(),
        )


def lock_open(review: Review) -> Review:
    """The review as it is stored, locked. Raises ReviewClosed if it is done or excused."""
    stored = Review.objects.select_for_update().get(pk=review.pk)
    if stored.closed_at is not None:
        raise ReviewClosed(f"This review was closed already: {stored.get_outcome_display()}.")
    return stored


def refuse_booked(review: Review) -> None:
    """Raises ReviewBooked if it has an appointment that is still to come."""
    booked = review.appointment
    if booked is not None and booked.is_to_come and booked.starts_at >= timezone.now():
        raise ReviewBooked(f"This review is booked for {_when(booked)}. Cancel that one first.")


def _refuse_unsaid(review: Review) -> None:
    """Raises ReviewBooked if it has one that has passed and of which nobody said what became."""
    booked = review.appointment
    if booked is not None and booked.is_to_come:
        raise ReviewBooked(
            f"This review is booked for {_when(booked)}, which has passed. On the list of that day "
            "say first whether the patient came and it is done, or cancel it."
        )


def _when(appointment: Appointment) -> str:
    return f"{timezone.localtime(appointment.starts_at):%-d %B %Y at %H:%M}"
