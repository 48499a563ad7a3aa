"""What became of an appointment: late, arrived, in the room, done, cancelled, not attended."""

from clinic.audit.services import acting
from records.appointments import hooks
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, ReasonMissing
from records.appointments.models import Appointment
from records.appointments.services.booking import hold_time, lock_held

MOST_LATE_MINUTES = 120
# What takes a mark back is told as that: "booked" would read as a new booking.
_ACTS_BACK = {
    (AppointmentState.ARRIVED, AppointmentState.BOOKED): "not_arrived",
    (AppointmentState.IN_ROOM, AppointmentState.BOOKED): "not_arrived",
    (AppointmentState.IN_ROOM, AppointmentState.ARRIVED): "not_in_the_room",
    (AppointmentState.DONE, AppointmentState.ARRIVED): "not_done",
    (AppointmentState.DID_NOT_ATTEND, AppointmentState.ARRIVED): "came_after_all",
    (AppointmentState.CANCELLED, AppointmentState.BOOKED): "not_cancelled",
}
OFFER_OPEN = "This time is offered to somebody: answer for them on the waiting list."


def set_state(
    *,
    appointment: Appointment,
    state: AppointmentState,
    actor,
    reason: str = "",
    undoing: bool = False,
) -> Appointment:
    """
    Mark what became of an appointment; pressing twice changes nothing.

    Args:
        undoing: takes back a "done" of the same day on which no session hangs, or a cancelling of
            today.

    Raises:
        ReasonMissing: cancelled without a reason.
        AppointmentClosed: it was cancelled, is done for good, or is offered and not answered.
        TimeTaken: somebody who did not attend or had cancelled comes after all, and the time was
            given away.
    """
    reason, state = reason.strip(), AppointmentState(state)
    if state == AppointmentState.CANCELLED and not reason:
        raise ReasonMissing("Say why the appointment is cancelled.")
    comes_back = state.takes_place
    with acting(actor) as trail:
        if comes_back:
            lock_held(appointment)
        stored = locked(appointment)
        before = AppointmentState(stored.state)
        if before == state and not before.is_final:
            return stored
        if before.is_final and not (undoing and stored.undone_to == state):
            raise AppointmentClosed(f"This appointment is {before.label.lower()} already.")
        if before is AppointmentState.OFFERED:
            raise AppointmentClosed(OFFER_OPEN)
        stored.state = state
        stored.cancel_reason = reason if state == AppointmentState.CANCELLED else ""
        fields = ["state", "cancel_reason"]
        if comes_back and not before.takes_place:
            hold_time(stored, trail, update_fields=fields)
        else:
            stored.save(update_fields=fields)
        trail.add(
            f"appointment.{_ACTS_BACK.get((before, state), state.value)}",
            stored,
            patient_id=stored.patient_id,
            before={"state": before},
            after={"state": state},
            reason=reason,
        )
        if before.takes_place and not state.takes_place:
            hooks.let_go(hooks.LetGo.by(stored), trail)
    appointment.state, appointment.cancel_reason = stored.state, stored.cancel_reason
    return stored


def note_late(*, appointment: Appointment, minutes: int, actor) -> Appointment:
    """
    Note that the patient comes so much later; 0 takes it back. The time stays as booked.

    Raises:
        ValueError: not 0 to MOST_LATE_MINUTES.
        AppointmentClosed: the patient is here already, or no longer expected.
    """
    if not 0 <= minutes <= MOST_LATE_MINUTES:
        raise ValueError(f"Late by 0 to {MOST_LATE_MINUTES} minutes.")
    with acting(actor) as trail:
        stored = locked(appointment)
        state = AppointmentState(stored.state)
        if state != AppointmentState.BOOKED:
            raise AppointmentClosed(f"This appointment is {state.label.lower()} already.")
        if stored.late_minutes == minutes:
            return stored
        before, stored.late_minutes = stored.late_minutes, minutes
        stored.save(update_fields=["late_minutes"])
        trail.add(
            "appointment.late",
            stored,
            patient_id=stored.patient_id,
            before={"late_minutes": before},
            after={"late_minutes": minutes},
        )
    return stored


def locked(appointment: Appointment) -> Appointment:
    """The appointment as it is stored, its row locked. Inside a transaction."""
    rows = Appointment.objects.select_for_update(no_key=True, of=("self",))
    return rows.select_related("practitioner", "room").get(pk=appointment.pk)
