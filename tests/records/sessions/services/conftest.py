"""A session with nothing in it yet."""

import pytest

from tests.factories import make_session


@pytest.fixture
def session(injector, patient):
    return make_session(injector, patient)
