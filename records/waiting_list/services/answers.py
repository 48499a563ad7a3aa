"""Writing down what became of an offer."""

from django.utils import timezone

from clinic.audit.services import Trail
from records.waiting_list.enums import Answer
from records.waiting_list.models import Offer


def answer_offer(offer: Offer, answer: Answer, trail: Trail, *, reason: str = "") -> None:
    """Answer an open offer, as a part of the caller's act; its row is locked."""
    offer.answer, offer.reason = answer, reason
    offer.answered_at, offer.answered_by = timezone.now(), trail.actor
    offer.save(update_fields=["answer", "reason", "answered_at", "answered_by"])
    trail.add(
        f"waiting_list.offer_{answer.value}",
        offer.entry,
        patient_id=offer.entry.patient_id,
        after={"starts_at": offer.appointment.starts_at},
        reason=reason,
    )
