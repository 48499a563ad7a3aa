"""Ann, who got something of two lots in March and in June, and an adverse event of hers."""

from datetime import UTC, date, datetime
from types import SimpleNamespace

import pytest

from records.sessions.models import TreatmentSession
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_event,
    make_patient,
    make_point,
    make_product,
    make_session,
    make_units,
)


@pytest.fixture
def ann(desk):
    return make_patient(desk, "Ann Example")


@pytest.fixture
def march(ann, injector, owner):
    """The session of 10 March 2026, with lot M3."""
    return _treated(ann, injector, owner, "M3", 3)


@pytest.fixture
def june(ann, injector, owner, march):
    """The session of 10 June 2026, with lot J6."""
    return _treated(ann, injector, owner, "J6", 6)


def _treated(ann, injector, owner, number, month):
    at = datetime(2026, month, 10, 12, tzinfo=UTC)
    (unit,) = make_units(owner, make_product(f"Filler {number}"), number=number, quantity=1)
    session = make_session(injector, ann, started_at=at, late_reason="Written down later")
    put_on_tray(session=session, unit=unit, actor=injector, opened_at=at)
    make_point(session, unit)
    TreatmentSession.objects.filter(pk=session.pk).update(signed_at=at, signed_by=injector)
    return SimpleNamespace(session=session, lot=unit.lot)


@pytest.fixture
def event(ann, march, injector):
    return make_event(
        injector, ann, session=march.session, lot=march.lot, onset_on=date(2026, 3, 12)
    )
