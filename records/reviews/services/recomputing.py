"""
Reckoning open reviews anew, after rules, opening days, closures or holidays were changed.

What is booked, closed or moved by hand stays. Where nothing of a session is, its reviews are
planned from the start, as if it were signed under today's rules; otherwise those that are left keep
what they answer and get new dates. No review ever leaves the list by it: one that no rule asks for
any more stays open, and its history says so.
"""

from dataclasses import dataclass
from datetime import date
from itertools import zip_longest

from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from clinic.review_rules.queries import RuleBook, rule_book
from planning.review_rules import Visit
from records.appointments.enums import AppointmentState
from records.patients.models import Patient
from records.reviews.enums import DateCause
from records.reviews.models import Review, ReviewAsk
from records.reviews.queries.asked import SINCE_EVENT, treatment_of
from records.reviews.services.scheduling import DATES, add_review, answer, note_dates, set_dates

NOT_ASKED = "No rule asks for it any more. Excuse it if nobody needs to see the patient."


@dataclass(frozen=True, slots=True)
class Change:
    """
    What the rules make of one review.

    Attributes:
        review: as it is; None for one that is to be added.
        visit: its dates from then on; None where no rule asks for it any more and it stays.
    """

    patient: Patient
    review: Review | None
    visit: Visit | None

    @property
    def is_needed(self) -> bool:
        """Whether anything differs from what is stored."""
        if self.review is None:
            return True
        asks = {ask.rule_id for ask in self.review.asks.all()}
        if self.visit is None:
            return bool(asks)
        wanted = {one.key for one in self.visit.asked}
        return self.moves or (self.review.rule, asks) != (self.visit.words, wanted)

    @property
    def moves(self) -> bool:
        """Whether a day differs; without it only what the review answers does."""
        if self.review is None or self.visit is None:
            return self.review is None
        stored, wanted = self.review, self.visit
        return (stored.earliest_on, stored.due_on, stored.latest_on) != (
            wanted.earliest, wanted.target, wanted.latest,
        )  # fmt: skip


def recompute(*, actor, dry_run: bool = False) -> list[Change]:
    """
    Reckon every open review anew; each session is a transaction of its own.

    Args:
        actor: who asks for it; None for a command.
        dry_run: say what would change and change nothing.

    Returns:
        What changed, the reviews as they were before.

    Raises:
        planning.review_dates.ReviewDateError: the clinic has no open day within a year.
    """
    open_ones = Review.objects.still_open().select_related("session__patient")
    sessions = {review.session_id: review.session for review in open_ones.order_by("due_on", "id")}
    if not sessions:
        return []
    first = min(timezone.localdate(session.started_at) for session in sessions.values())
    book = rule_book(on_or_after=first)
    found: list[Change] = []
    for session in sessions.values():
        if dry_run:
            found += [change for change in _plan(session, book) if change.is_needed]
            continue
        with acting(actor) as trail:
            session = _locked(session)
            found += _carry_out(_plan(session, book), session, trail)
    return found


def _locked(session):
    """
    The session as it is stored, and its reviews, locked in the order of an addendum that moves
    them: what is added for a session takes a lock on its row.
    """
    stored = type(session).objects.select_for_update(of=("self",)).get(pk=session.pk)
    stored.patient = session.patient
    list(Review.objects.select_for_update().filter(session=stored).order_by("pk"))
    return stored


def _plan(session, book: RuleBook) -> list[Change]:
    """Every review of the session that may change, and what the rules make of it."""
    reviews = list(
        session.reviews.select_related("appointment")
        .prefetch_related("asks__event", "dates")
        .order_by("pk")
    )
    of_events = [review for review in reviews if _event_of(review)]
    of_treatment = [review for review in reviews if not _event_of(review)]
    movable = [review for review in of_treatment if _is_movable(review)]
    patient = session.patient
    plan = [
        Change(patient, review, _event_visit(review, book))
        for review in of_events
        if _is_movable(review)
    ]
    on = timezone.localdate(session.started_at)
    # One that is not signed yet has at most the review of an adverse event; its own come with the
    # signature.
    if session.signed_at and movable == of_treatment:
        keys = treatment_of(session, book).keys(book)
        pairs = zip_longest(_in_order(movable), book.visits(keys, on)) if keys else ()
        return plan + [Change(patient, review, visit) for review, visit in pairs]
    for review in movable:
        if keys := {ask.rule_id for ask in review.asks.all()}:
            first, *further = book.visits(keys, on)
            plan += [
                Change(patient, review, first),
                *(Change(patient, None, one) for one in further),
            ]
    return plan


def _in_order(reviews: list[Review]) -> list[Review]:
    """As visits are: by their days; those that answer nothing any more are the last to be used."""
    return sorted(reviews, key=lambda review: (not review.asks.all(), review.due_on, review.pk))


def _is_movable(review: Review) -> bool:
    """Open, neither booked nor seen already, and not moved by hand."""
    booked = review.appointment
    was_seen = booked is not None and booked.state == AppointmentState.DONE
    is_booked = booked is not None and booked.is_to_come and booked.starts_at >= timezone.now()
    last = max(review.dates.all(), key=lambda row: row.pk, default=None)
    by_hand = last is not None and DateCause(last.cause).is_by_hand
    return review.closed_at is None and not (is_booked or was_seen or by_hand)


def _event_of(review: Review):
    return next((ask.event for ask in review.asks.all() if ask.event_id), None)


def _event_visit(review: Review, book: RuleBook) -> Visit:
    """By the rule that asked for it, from the day on which it did."""
    keys = {ask.rule_id for ask in review.asks.all()}
    return book.visits(keys, _first_day(review), since=SINCE_EVENT)[0]


def _first_day(review: Review) -> date:
    return timezone.localdate(min(review.dates.all(), key=lambda row: row.pk).at)


def _carry_out(plan: list[Change], session, trail: Trail) -> list[Change]:
    """Write what is needed; returns that."""
    needed = [change for change in plan if change.is_needed]
    of_treatment = [
        change.review.pk for change in plan if change.review and not _event_of(change.review)
    ]
    if needed:
        # All at once, for a rule may go from one of them to another.
        ReviewAsk.objects.filter(review__in=of_treatment).delete()
    for change in plan if needed else ():
        review, visit = change.review, change.visit
        if review is None and visit is not None:
            add_review(visit, session, trail)
        elif review is not None:
            if visit is not None and not _event_of(review):
                answer(review, visit)
            if change in needed:
                _set_anew(Review.objects.get(pk=review.pk), visit, trail)
    return needed


def _set_anew(review: Review, visit: Visit | None, trail: Trail) -> None:
    before = snapshot(review, [*DATES, "rule"])
    reason = NOT_ASKED
    if visit is not None:
        set_dates(review, visit)
        review.save(update_fields=[*DATES, "moved_from", "label", "rule"])
        reason = f"Rules or opening days changed: {visit.words}"
    note_dates(review, DateCause.RECOMPUTED, reason, trail)
    trail.add(
        "review.recomputed",
        review,
        patient_id=review.patient_id,
        before=before,
        after=snapshot(review, [*DATES, "rule"]),
        reason=reason,
    )
