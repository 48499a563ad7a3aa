from datetime import UTC, date, datetime, timedelta

import pytest

from planning.stretches import Span, around
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.figures.queries.asked import Asked

TODAY = date(2026, 12, 10)
NOW = datetime(2026, 12, 10, 12, tzinfo=UTC)


@pytest.fixture
def november() -> Asked:
    return Asked(around(date(2026, 11, 1), Span.MONTH), TODAY)


@pytest.fixture
def visits(patient, injector):
    """`visits("done", 3, date(2026, 11, 2))`: so many half hours from nine on, one a day."""

    def make(state: str, count: int, first: date, *, hour: int = 9, **fields) -> list[Appointment]:
        fields = {"practitioner": injector, "kind": "treatment", "minutes": 30, **fields}
        if state == AppointmentState.CANCELLED:
            fields.setdefault("cancel_reason", "Ill")
        starts = [
            datetime(first.year, first.month, first.day, hour, tzinfo=UTC) + timedelta(days=number)
            for number in range(count)
        ]
        return [
            Appointment.objects.create(patient=patient, state=state, starts_at=start, **fields)
            for start in starts
        ]

    return make
