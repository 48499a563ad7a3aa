"""
Times held for somebody until they answer; each a part of the caller's act.

They are given back by `booking.release_offer`, because whoever books may come upon one that ended.
"""

from datetime import datetime

from clinic.audit.services import Trail, snapshot
from records.appointments import hooks
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.appointments.services.booking import APPOINTMENT_FIELDS, hold_time, site_of


def hold_offer(appointment: Appointment, *, until: datetime, trail: Trail) -> None:
    """
    Hold the appointment's time until then.

    Raises:
        TimeTaken: as `booking.book`.
    """
    appointment.site_id = site_of(appointment)
    appointment.state, appointment.held_until = AppointmentState.OFFERED, until
    hold_time(appointment, trail)
    trail.add(
        "appointment.offered",
        appointment,
        patient_id=appointment.patient_id,
        after=snapshot(appointment, [*APPOINTMENT_FIELDS, "held_until"]),
    )


def book_offer(offer: Appointment, trail: Trail) -> None:
    """Book the offered time; its row is locked, and the caller has asked whether it still holds."""
    offer.state, offer.held_until = AppointmentState.BOOKED, None
    offer.save(update_fields=["state", "held_until"])
    trail.add(
        "appointment.booked",
        offer,
        patient_id=offer.patient_id,
        after=snapshot(offer, APPOINTMENT_FIELDS),
    )
    hooks.was_booked(offer, trail)
