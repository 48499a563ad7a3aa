"""What bookings, and times that come free, mean for the waiting list: parts of others' acts."""

from django.utils import timezone

from clinic.audit.services import Trail
from records.appointments.hooks import LetGo
from records.appointments.models import Appointment
from records.appointments.services.booking import release_offer
from records.appointments.services.states import locked
from records.waiting_list.enums import Answer, Outcome
from records.waiting_list.models import FreedTime, Offer, WaitingEntry
from records.waiting_list.services.answers import answer_offer
from records.waiting_list.services.entries import close

_BOOKED_ELSEWHERE = "The patient was booked at another time"


def was_booked(appointment: Appointment, trail: Trail) -> None:
    """
    The patient no longer waits for this kind of visit, unless it lies after the last day they
    wanted. Another time that they are being offered is given back.
    """
    entry = (
        WaitingEntry.objects.standing()
        .select_for_update(no_key=True)
        .filter(patient=appointment.patient_id, kind=appointment.kind)
        .first()
    )
    day = timezone.localdate(appointment.starts_at)
    if entry is None or (entry.last_on is not None and day > entry.last_on):
        return
    _give_back_offers(entry, trail)
    close(entry, Outcome.BOOKED, trail, appointment=appointment)


def _give_back_offers(entry: WaitingEntry, trail: Trail) -> None:
    """The booking holds the patient's row, so nobody else is at these offers."""
    for offer in entry.offers.open().select_related("appointment"):
        held = locked(offer.appointment)
        answer_offer(offer, Answer.DECLINED, trail, reason=_BOOKED_ELSEWHERE)
        release_offer(held, trail, reason=_BOOKED_ELSEWHERE)


def let_go(time: LetGo, trail: Trail) -> None:
    """
    Remember a time that lies ahead, for the waiting list. A time that was only offered is known
    already: whoever books over an offer that ended answers it.
    """
    if time.was_offer:
        open_offers = Offer.objects.open().select_for_update(no_key=True, of=("self",))
        offer = open_offers.filter(appointment=time.appointment).first()
        if offer is not None:
            answer_offer(offer, Answer.EXPIRED, trail)
        return
    now = timezone.now()
    if time.starts_at <= now:
        return
    FreedTime.objects.update_or_create(
        practitioner_id=time.practitioner_id,
        starts_at=time.starts_at,
        defaults={
            "appointment": time.appointment, "minutes": time.minutes, "freed_at": now,
            "freed_by": trail.actor, "left_at": None, "left_by": None,
        },
    )  # fmt: skip
