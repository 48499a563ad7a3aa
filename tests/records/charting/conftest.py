"""A session under way and the tablet it is charted on."""

import pytest

from tests.factories import make_product, make_session_with_unit, make_units
from tests.records.charting.tablet import Tablet


@pytest.fixture
def units(owner):
    return make_units(owner, make_product(), quantity=3)


@pytest.fixture
def session(injector, patient, units):
    return make_session_with_unit(injector, patient, units[0])


@pytest.fixture
def tablet(injector):
    return Tablet(injector)


@pytest.fixture
def other_tablet(injector):
    """Of the same person."""
    return Tablet(injector)
