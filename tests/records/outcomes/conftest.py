"""Ann was given filler in her left temple and her chin today; her review is open."""

import pytest

from planning.vocabulary import Side
from records.reviews.models import Review
from records.sessions.enums import Remainder
from records.sessions.services.signing import sign_session
from tests.factories import (
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)


@pytest.fixture
def treat(owner):
    """`treat(patient, injector, product)`: 0.4 mL in left temple and chin each; its review."""

    def treat(patient, injector, product, regions=("temple", "mental")) -> Review:
        [unit] = make_units(owner, product, number=f"L{patient.pk}{injector.pk}", quantity=1)
        session = make_session_with_unit(injector, patient, unit)
        for region in regions:
            side = Side.LEFT if region == "temple" else Side.MIDLINE
            make_point(session, unit, amount=300, region=region, side=side)
            make_point(session, unit, amount=100, region=region, side=side)
        sign_session(session=session, remainders={unit.pk: Remainder.WASTED}, actor=injector)
        return session.reviews.get()

    return treat


@pytest.fixture
def review(treat, patient, injector) -> Review:
    return treat(patient, injector, make_product())
