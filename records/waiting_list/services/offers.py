"""
Offering a freed time to the next who waits, and what becomes of the offer.

Each act locks the people and the room first (`lock_held`), then the appointment, then the entry and
the offer: acceptance, refusal, the end of the offer and a booking over it have one outcome.
Handing a time on is an act of its own after the one that gave it back: it locks other people.
"""

from datetime import datetime

from django.db.models import OuterRef, Subquery
from django.utils import timezone

from clinic.audit.services import acting
from clinic.policy.queries import current_policy
from records.appointments.errors import TimeTaken
from records.appointments.models import Appointment
from records.appointments.services.booking import lock_held, release_offer
from records.appointments.services.offers import book_offer, hold_offer
from records.appointments.services.states import locked
from records.waiting_list.enums import Answer, Outcome
from records.waiting_list.errors import (
    EntryClosed,
    NobodyFits,
    OfferClosed,
    ReasonMissing,
    TooLate,
)
from records.waiting_list.listeners import offer_made
from records.waiting_list.models import FreedTime, Offer, WaitingEntry
from records.waiting_list.queries.matching import Match, match, open_time
from records.waiting_list.services.answers import answer_offer
from records.waiting_list.services.entries import close, standing

_GIVEN_BACK = {
    Answer.DECLINED: "The patient does not want the offered time",
    Answer.EXPIRED: "The offer was not answered in time",
    Answer.WITHDRAWN: "The offer was taken back",
}

# Somebody may be quicker with the next in order. Common practice, no source.
_TRIES = 3


def offer_time(*, freed: FreedTime, actor, entry: WaitingEntry | None = None) -> Offer:
    """
    Offer a freed time to the first in order who has time to answer, or to a certain one of those
    who fit.

    Raises:
        NobodyFits: nobody does any more, or not the one who was chosen.
        TooLate: it starts too soon to wait for an answer, or for the notice they need.
        EntryClosed: the chosen one left the list, or is offered another time, at this moment.
        TimeTaken: somebody else got the time at this moment.
    """
    matches = open_time(freed).matches
    if entry is not None:
        matches = [one for one in matches if one.entry.pk == entry.pk]
    if not matches:
        raise NobodyFits("Nobody on the waiting list fits this time any more.")
    for one in matches:
        if one.offer_until is not None:
            return _offer(freed, one, one.offer_until, actor)
    raise TooLate("It starts too soon to wait for an answer: call, and book it directly.")


def _offer(freed: FreedTime, match: Match, until: datetime, actor) -> Offer:
    appointment = match.appointment()
    with acting(actor) as trail:
        lock_held(appointment)
        entry = standing(match.entry)
        if entry.offers.open().exists():
            raise EntryClosed("A colleague is offering this patient a time already.")
        hold_offer(appointment, until=until, trail=trail)
        offer = Offer.objects.create(
            entry=entry, freed=freed, appointment=appointment, offered_at=timezone.now(),
            offered_by=actor,
        )  # fmt: skip
        trail.add(
            "waiting_list.offered",
            entry,
            patient_id=entry.patient_id,
            after={"starts_at": appointment.starts_at, "held_until": until},
        )
        offer_made(offer)
    return offer


def accept(offer: Offer, *, actor=None) -> Offer:
    """
    Book the offered time, and the patient leaves the list. Accepting twice changes nothing.

    Args:
        actor: None where the patient did it.

    Raises:
        OfferClosed: it was answered otherwise, or has ended.
    """
    with acting(actor) as trail:
        stored, appointment = _locked(offer)
        if stored.answer == Answer.ACCEPTED:
            return stored
        _need_open(stored)
        if appointment.held_until is not None and appointment.held_until <= timezone.now():
            until = timezone.localtime(appointment.held_until)
            raise OfferClosed(
                f"The offer ended on {until:%-d %B at %H:%M}. The time is free again."
            )
        entry = standing(stored.entry)
        answer_offer(stored, Answer.ACCEPTED, trail)
        close(entry, Outcome.BOOKED, trail, appointment=appointment)
        book_offer(appointment, trail)
    return stored


def decline(offer: Offer, *, actor=None, reason: str = "") -> Offer:
    """
    The patient does not want it, and waits on; the time goes to the next in order.

    Raises:
        OfferClosed: it was answered before.
    """
    return _give_back(offer, Answer.DECLINED, actor, reason)


def withdraw(offer: Offer, *, actor, reason: str) -> Offer:
    """
    Take an offer back; its time is offered to nobody else by itself.

    Raises:
        ReasonMissing: no reason.
        OfferClosed: it was answered before.
    """
    if not reason.strip():
        raise ReasonMissing("Say why the offer is taken back.")
    return _give_back(offer, Answer.WITHDRAWN, actor, reason)


def _give_back(offer: Offer, answer: Answer, actor, reason: str) -> Offer:
    with acting(actor) as trail:
        stored, appointment = _locked(offer)
        _need_open(stored)
        answer_offer(stored, answer, trail, reason=reason.strip())
        release_offer(appointment, trail, reason=reason.strip() or _GIVEN_BACK[answer])
    if answer.leads_on:
        _go_on(stored.freed)
    return stored


def remove_entry(*, entry: WaitingEntry, reason: str, actor) -> WaitingEntry:
    """
    Take somebody off the list. An offer that is open is declined, and its time goes on.

    Raises:
        ReasonMissing: no reason.
        EntryClosed: they left the list before.
    """
    reason = reason.strip()
    if not reason:
        raise ReasonMissing("Say why the patient is taken off the waiting list.")
    with acting(actor) as trail:
        offer = entry.offers.open().select_related("appointment").first()
        if offer is not None:
            offer, appointment = _locked(offer)
            if offer.is_open:
                answer_offer(offer, Answer.DECLINED, trail, reason=reason)
                release_offer(appointment, trail, reason=_GIVEN_BACK[Answer.DECLINED])
        stored = standing(entry)
        if stored.offers.open().exists():
            raise EntryClosed(
                "A colleague is offering this patient a time: look at the list again."
            )
        close(stored, Outcome.GONE, trail, reason=reason)
    if offer is not None:
        _go_on(offer.freed)
    return stored


def leave_time(*, freed: FreedTime, actor) -> None:
    """Offer a freed time to nobody; an offer that is open stays."""
    with acting(actor) as trail:
        stored = FreedTime.objects.select_for_update(no_key=True).get(pk=freed.pk)
        if stored.left_at is not None:
            return
        stored.left_at, stored.left_by = timezone.now(), actor
        stored.save(update_fields=["left_at", "left_by"])
        trail.add("waiting_list.time_left", stored, after={"starts_at": stored.starts_at})


def expire_offers(now: datetime | None = None) -> int:
    """
    End the offers nobody answered by `now`, hand their times on, and go on where a time was given
    back and the process stopped before it went on. Returns how many ended. May be run at any time,
    and twice at once.
    """
    now = now or timezone.now()
    ended = 0
    for offer in Offer.objects.ended(now).select_related("appointment"):
        ended += _expire(offer, now)
    if current_policy().offers_go_on:
        for time in match(_given_back()):
            if time.next_offer:
                _go_on(time.freed)
    return ended


def _expire(offer: Offer, now: datetime) -> bool:
    with acting(None) as trail:
        stored, appointment = _locked(offer)
        until = appointment.held_until
        if not stored.is_open or until is None or until > now:
            return False
        answer_offer(stored, Answer.EXPIRED, trail)
        release_offer(appointment, trail)
    return True


def _given_back() -> list[FreedTime]:
    """Freed times to come that the last one who was offered them did not take."""
    ahead = FreedTime.objects.filter(starts_at__gt=timezone.now(), left_at__isnull=True)
    since = Offer.objects.filter(freed=OuterRef("pk"), offered_at__gte=OuterRef("freed_at"))
    last = since.order_by("-id").values("answer")[:1]
    given_back = [answer for answer in Answer if answer.leads_on]
    return list(
        ahead.annotate(last=Subquery(last))
        .filter(last__in=given_back)
        .select_related("practitioner", "appointment")
    )


def _go_on(freed: FreedTime) -> None:
    """Offer a time that was given back to the next in order, if the clinic wants that."""
    if not current_policy().offers_go_on or freed.left_at is not None:
        return
    for _ in range(_TRIES):
        try:
            offer_time(freed=freed, actor=None)
        except (EntryClosed, TimeTaken):
            continue
        except (NobodyFits, TooLate):
            pass
        return


def _locked(offer: Offer) -> tuple[Offer, Appointment]:
    """The offer and its appointment as they are stored, all rows locked in the common order."""
    lock_held(offer.appointment)
    appointment = locked(offer.appointment)
    stored = Offer.objects.select_for_update(no_key=True, of=("self",)).select_related(
        "entry", "freed__practitioner"
    )
    return stored.get(pk=offer.pk), appointment


def _need_open(offer: Offer) -> None:
    if not offer.is_open:
        words = Answer(offer.answer).label.lower()
        raise OfferClosed(f"This offer was answered before: {words}.")
