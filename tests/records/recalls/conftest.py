"""One product, its lot of five syringes, two patients who got of it, and the case about it."""

import pytest

from tests.factories import make_product, make_units
from tests.records.recalls.cases import make_case, make_treated, span


@pytest.fixture
def product(db):
    return make_product(maker="Example Maker")


@pytest.fixture
def units(owner, product):
    """U000001 to U000005 of lot LOT42."""
    return make_units(owner, product, quantity=5)


@pytest.fixture
def treated(desk, injector, units):
    """Ann with the first syringe, Bo with the second; both can be telephoned."""
    return make_treated(desk, injector, units, ["Ann Example", "Bo Li"], phone="07700 900123")


@pytest.fixture
def case(owner, product, treated):
    """The real case about LOT42: two patients, three syringes on the shelf."""
    return make_case(owner, span(product))


@pytest.fixture
def drill(owner, product, treated):
    return make_case(owner, span(product), is_drill=True)
