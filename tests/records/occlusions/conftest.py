"""A session in which a vessel may be blocked, and its log."""

import pytest

from planning.vocabulary import ProductKind
from tests.factories import (
    make_occlusion,
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)


@pytest.fixture
def session(injector, owner, desk):
    """0.2 mL on Ann's left cheekbone."""
    unit = make_units(owner, make_product())[0]
    session = make_session_with_unit(injector, make_patient(desk), unit)
    make_point(session, unit)
    return session


@pytest.fixture
def log(session):
    return make_occlusion(session)


@pytest.fixture
def vial(owner):
    """1,500 units of hyaluronidase, sealed."""
    product = make_product(
        "Hyaluronidase 1500", kind=ProductKind.HYALURONIDASE, content=150_000,
        lidocaine_ug_per_ml=0,
    )  # fmt: skip
    return make_units(owner, product, number="HY1", quantity=1)[0]
