"""Ann, treated yesterday with filler, and a clinic that sends messages."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from clinic.policy.models import ClinicPolicy
from records.reminders.models import ReminderPolicy
from records.sessions.models import TreatmentSession
from tests.factories import (
    make_check_in,
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)  # a Tuesday; London has no summer time


@pytest.fixture
def clock():
    """It stands still at noon; `clock.shift(timedelta)`."""
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


@pytest.fixture
def policy(clock, db):
    return ClinicPolicy.objects.create(
        name="Larkstone Face Clinic", phone="020 7946 0123", email="hello@larkstone.example",
        emergency_contact="Dr Ines Halvorsen, 07700 900999",
    )  # fmt: skip


@pytest.fixture
def sending(policy):
    return ReminderPolicy.objects.create(is_on=True, checks_in=True)


@pytest.fixture
def ann(policy, desk):
    return make_patient(
        desk, phone="07700 900123", preferred_channel="sms", agrees_to_sms=True
    )  # fmt: skip


@pytest.fixture
def session(ann, injector, owner):
    """Signed, with one point of filler, today at eleven."""
    (unit,) = make_units(owner, make_product(), quantity=1)
    session = make_session_with_unit(injector, ann, unit)
    make_point(session, unit)
    at = NOON - timedelta(hours=1)
    TreatmentSession.objects.filter(pk=session.pk).update(
        started_at=at, signed_at=at, signed_by=injector
    )
    session.refresh_from_db()
    return session


@pytest.fixture
def check_in(session):
    return make_check_in(session)
