"""Telling who waits of a time on offer, and what they answer by the link."""

from django.utils import timezone

from records.reminders.enums import MessageKind
from records.reminders.models import Message, is_booked_for
from records.reminders.queries import reminder_policy
from records.reminders.services.writing import write_about
from records.reminders.tokens import TOKEN_LENGTH, digest_of
from records.waiting_list.enums import Answer
from records.waiting_list.models import Offer


def tell_of_offer(offer: Offer) -> None:
    """Write the message of an offer that was made, as a part of its act; nothing is sent here."""
    if reminder_policy().is_on:
        write_about(appointment=offer.appointment, kind=MessageKind.OFFER, due_at=timezone.now())


def offer_of(token: str) -> Offer | None:
    """
    The offer whose link this is, while it is open, or was taken and its visit is still booked for
    that time, until the time begins. None says nothing about why.
    """
    if len(token) != TOKEN_LENGTH:
        return None
    told = Message.objects.filter(token_digest=digest_of(token), kind=MessageKind.OFFER).first()
    if told is None:
        return None
    offers = Offer.objects.filter(appointment=told.appointment_id)
    offer = offers.select_related("appointment__site", "appointment__room__site").last()
    if offer is None or offer.appointment.starts_at <= timezone.now():
        return None
    held_until = offer.appointment.held_until
    is_open = offer.answered_at is None and held_until is not None and held_until > timezone.now()
    is_taken = offer.answer == Answer.ACCEPTED and is_booked_for(offer.appointment, told.starts_at)
    return offer if is_open or is_taken else None
