"""Since when patients are in the house; the trail alone knows it."""

import json
from collections.abc import Iterable
from datetime import datetime

from clinic.audit.models import AuditEvent
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment

# Marked so, the patient is not here; "done" is left out, as it can be taken back.
_NOT_HERE = (AppointmentState.BOOKED, AppointmentState.DID_NOT_ATTEND)


def arrivals(appointments: Iterable[Appointment]) -> dict[int, datetime]:
    """
    When each patient came, by the appointment's id; a way into the room and back changes nothing,
    an arrival that was taken back does not count. One query, none without appointments.
    """
    keys = [str(one.pk) for one in appointments]
    if not keys:
        return {}
    came: dict[int, datetime] = {}
    events = AuditEvent.objects.filter(subject_type="appointment", subject_id__in=keys)
    acts = events.exclude(data="{}").order_by("id").values_list("subject_id", "at", "data")
    for key, at, data in acts:
        state = json.loads(data).get("after", {}).get("state")
        if state is None:
            continue
        if AppointmentState(state) in _NOT_HERE:
            came.pop(int(key), None)
        elif AppointmentState(state).is_here:
            came.setdefault(int(key), at)
    return came
