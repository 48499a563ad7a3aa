"""Booking: an appointment takes its time, or says who is in the way."""

from collections.abc import Iterable
from datetime import datetime

from django.db import IntegrityError
from django.db.models import Q
from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from clinic.hours.queries import site_at
from clinic.rooms.models import Room
from clinic.staff.models import User
from records.appointments import hooks
from records.appointments.enums import AppointmentState
from records.appointments.errors import TimeTaken
from records.appointments.models import Appointment, HeldCell, cells_of
from records.patients.models import Patient

APPOINTMENT_FIELDS = [
    "patient", "practitioner", "site", "room", "kind", "starts_at", "minutes",
    "preparation_minutes", "buffer_minutes", "note",
]  # fmt: skip
EXPIRED = "Nobody took the offered time"


def book(*, appointment: Appointment, actor) -> Appointment:
    """
    Book an appointment.

    Raises:
        TimeTaken: the practitioner, the room or the patient has another one in that time.
    """
    with acting(actor) as trail:
        reserve(appointment=appointment, trail=trail)
    return appointment


def reserve(*, appointment: Appointment, trail: Trail) -> None:
    """Book an appointment as a part of the caller's act. Raises as `book`."""
    appointment.site_id = site_of(appointment)
    hold_time(appointment, trail)
    trail.add(
        "appointment.booked",
        appointment,
        patient_id=appointment.patient_id,
        after=snapshot(appointment, APPOINTMENT_FIELDS),
    )
    hooks.was_booked(appointment, trail)


def site_of(appointment: Appointment) -> int | None:
    """
    Where it is: the room's site, or the one at which the practitioner works then; otherwise as it
    was, which may be nowhere in particular.
    """
    if appointment.room is not None:
        return appointment.room.site_id
    return site_at(appointment.practitioner, appointment.starts_at) or appointment.site_id


def hold_time(
    appointment: Appointment, trail: Trail, *, update_fields: Iterable[str] | None = None
) -> None:
    """
    Save the appointment; the database refuses a time that is held.

    Raises:
        TimeTaken: in words, who is in the way.
    """
    lock_held(appointment)
    try:
        with trail.part():
            appointment.save(update_fields=update_fields)
        return
    except IntegrityError:
        others = in_the_way(appointment)
        if not others:
            raise
    # An offer that nobody took in time gives way to whoever books.
    for other in others:
        if not is_expired(other):
            raise TimeTaken(_words(other, appointment))
        release_offer(other, trail)
    appointment.save(update_fields=update_fields)


def lock_held(*appointments: Appointment) -> None:
    """
    Lock the rows of everybody and everything the appointments hold, in one order for all writers:
    practitioners, rooms, patients, each by number. The constraints decide alone; behind locks two
    bookings wait for each other instead of ending as a deadlock. `no_key`, because every row that
    names a member of staff or a patient needs a share of theirs while it is written.
    """
    for model, name in ((User, "practitioner_id"), (Room, "room_id"), (Patient, "patient_id")):
        numbers = {getattr(one, name) for one in appointments} - {None}
        rows = model.objects.select_for_update(no_key=True).filter(pk__in=numbers).order_by("pk")
        list(rows.values_list("pk", flat=True))


def in_the_way(appointment: Appointment) -> list[Appointment]:
    """The appointments that hold what this one needs, the earliest first."""
    needed, visit = cells_of(appointment)
    clash = Q(practitioner=appointment.practitioner_id)
    if appointment.room_id is not None:
        clash |= Q(room=appointment.room_id)
    held = HeldCell.objects.filter(
        Q(cell__gte=needed.start, cell__lt=needed.stop) & clash
        | Q(cell__gte=visit.start, cell__lt=visit.stop, patient=appointment.patient_id)
    ).exclude(appointment=appointment.pk)
    others = Appointment.objects.filter(pk__in=held.values("appointment"))
    return list(others.select_related("practitioner", "room"))


def is_expired(offer: Appointment) -> bool:
    """A time that was offered and that nobody took before the offer ended."""
    return offer.held_until is not None and offer.held_until <= timezone.now()


def release_offer(offer: Appointment, trail: Trail, *, reason: str = EXPIRED) -> None:
    """Give the time of an offer back, as a part of the caller's act."""
    offer.state, offer.held_until = AppointmentState.CANCELLED, None
    offer.cancel_reason = reason
    offer.save(update_fields=["state", "held_until", "cancel_reason"])
    trail.add("appointment.released", offer, patient_id=offer.patient_id, reason=reason)
    hooks.let_go(hooks.LetGo.by(offer, was_offer=True), trail)


def _words(other: Appointment, wanted: Appointment) -> str:
    """Who or what is not free, and when; another patient's name is nobody's business."""
    span = _span(other)
    if other.is_offer:
        whose = "the patient" if other.patient_id == wanted.patient_id else "somebody"
        return (
            f"The time {span} with {other.practitioner} is offered to {whose} on the waiting list "
            f"until {_until(other.held_until)}."
        )
    if other.patient_id == wanted.patient_id:
        return f"The patient has another appointment {span}, with {other.practitioner}."
    if other.practitioner_id == wanted.practitioner_id:
        return f"{other.practitioner} has another appointment {span}."
    return f"{other.room} is taken {span}, by {other.practitioner}."


def _until(moment: datetime | None) -> str:
    """ "14:30", with the day if that is another one."""
    local = timezone.localtime(moment)
    today = local.date() == timezone.localdate()
    return f"{local:%H:%M}" if today else f"{local:%-d %B at %H:%M}"


def _span(appointment: Appointment) -> str:
    """ "from 10:15 to 10:45" by the clinic's clock, with what comes before and after it."""
    starts, ends = map(timezone.localtime, (appointment.starts_at, appointment.ends_at))
    words = f"from {starts:%H:%M} to {ends:%H:%M}"
    before, after = appointment.preparation_minutes, appointment.buffer_minutes
    extra = [
        f"{minutes} min {what}"
        for minutes, what in ((before, "of preparation"), (after, "of buffer"))
        if minutes
    ]
    return f"{words} (and {' and '.join(extra)})" if extra else words
