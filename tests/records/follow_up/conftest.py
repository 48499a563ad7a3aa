"""People, and one of each thing that the list gathers."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import make_patient, make_product, make_review, make_units
from tests.records.recalls.cases import make_case, span, treat

TODAY = timezone.localdate()
PHONE = "020 7946 0101"


@pytest.fixture
def patient(desk):
    return make_patient(desk, "Ann Example", phone=PHONE)


@pytest.fixture
def review(injector, patient):
    """Overdue since yesterday."""
    return make_review(injector, patient, TODAY - timedelta(days=8))


@pytest.fixture
def make_untold(desk, injector, owner):
    """Somebody of an open recall who was not told yet."""

    def make(**fields):
        unit = make_units(owner, make_product())[0]
        treated = make_patient(desk, "Ben Example", phone="020 7946 0102")
        treat(injector, treated, unit)
        return make_case(owner, span(unit.lot.product, unit.lot.number), **fields).people.get()

    return make


@pytest.fixture
def untold(make_untold):
    return make_untold()
