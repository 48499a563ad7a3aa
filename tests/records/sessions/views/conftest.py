"""A session under way, and what the charting screen sends."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.factories import make_product, make_session_with_unit, make_units


@pytest.fixture
def units(owner):
    return make_units(owner, make_product(), quantity=3)


@pytest.fixture
def session(injector, patient, units):
    return make_session_with_unit(injector, patient, units[0])


@pytest.fixture
def tapped(units):
    """The form of a tap on the patient's left cheekbone; `tapped(amount="0.3")` says otherwise."""

    def form(**fields) -> dict:
        return {
            "key": str(uuid.uuid4()), "tapped_at": "2026-11-25T10:00:00.123Z", "view": "front",
            "x_dmm": "480", "y_dmm": "330", "unit": units[0].pk, "amount": "0.2",
            "plane": "supraperiosteal", "technique": "bolus", "instrument": "needle",
            "gauge": "27", "length_mm": "13", "aspiration": "negative", **fields,
        }  # fmt: skip

    return form


@pytest.fixture
def count_queries():
    """How many queries `act` takes."""

    def count(act) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert act().status_code == 200
        return len(queries)

    return count
