"""A session under way."""

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
def count_queries():
    """How many queries `act` takes."""

    def count(act) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert act().status_code == 200
        return len(queries)

    return count
