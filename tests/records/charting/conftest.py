"""A session under way and the tablet it is charted on."""

import pytest
from django.utils import timezone

from clinic.tablets.models import UnlockCode
from tests.factories import make_product, make_session_with_unit, make_units
from tests.records.charting.tablet import CODE_KEY, Tablet


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


@pytest.fixture
def code(tablet):
    """The quick code of the injector on the tablet."""
    return UnlockCode.objects.create(
        user=tablet.user, device=tablet.device, salt="0" * 32, key=CODE_KEY, iterations=310_000,
        made_at=timezone.now(),
    )  # fmt: skip
