"""The sheet of a day: what each practitioner has, for the wall or the pocket."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from clinic.staff.models import User
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.diary.queries.visits import has_alert

OFF_THE_SHEET = [AppointmentState.CANCELLED, AppointmentState.OFFERED]


@dataclass(frozen=True, slots=True)
class DaySheet:
    practitioner: User
    appointments: list[Appointment]


def day_sheets(day: date, practitioner: User | None) -> list[DaySheet]:
    """
    One for everybody who has a visit on `day`, by name, or the one of `practitioner`, who may have
    none: one query.
    """
    booked = Appointment.objects.on(day).exclude(state__in=OFF_THE_SHEET)
    if practitioner:
        booked = booked.filter(practitioner=practitioner)
    booked = booked.select_related("patient", "practitioner").with_site()
    # Which one is not told: the sheet may be left lying.
    booked = booked.annotate(has_alert=has_alert())
    sheets = _by_practitioner(booked)
    if practitioner and not sheets:
        return [DaySheet(practitioner, [])]
    return sorted(sheets, key=lambda sheet: sheet.practitioner.full_name)


def _by_practitioner(booked: Iterable[Appointment]) -> list[DaySheet]:
    sheets: dict[int, DaySheet] = {}
    for appointment in booked:
        who = appointment.practitioner
        sheets.setdefault(who.pk, DaySheet(who, [])).appointments.append(appointment)
    return list(sheets.values())
