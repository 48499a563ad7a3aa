"""Two injectors, a filler and a toxin, sessions in March and April 2026, each signed for good."""

from datetime import UTC, date, datetime
from types import SimpleNamespace

import pytest
import time_machine

from clinic.stock.enums import MovementKind
from clinic.stock.services import discard_remainder, take_out_of_stock
from planning.vocabulary import ProductKind, Side
from records.sessions.enums import Remainder
from records.sessions.services.signing import sign_session
from records.sessions.services.tray import put_on_tray, record_waste
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_units,
    make_user,
)

MARCH = datetime(2026, 3, 10, 12, tzinfo=UTC)
# 00:30 on 1 May by the clinic's clock is 23:30 on 30 April in UTC.
APRIL, MAY = datetime(2026, 4, 10, 12, tzinfo=UTC), datetime(2026, 4, 30, 23, 30, tzinfo=UTC)
SPRING = date(2026, 3, 1), date(2026, 5, 31)


@pytest.fixture
def treat():
    """`treat(patient, by, at, unit, {"temple": 200}, spilled=50)`: signed, the rest wasted."""

    def treat(patient, by, at, unit, amounts, *, spilled=0, side=Side.LEFT, rest=Remainder.WASTED):
        with time_machine.travel(at, tick=False):
            session = make_session(by, patient)
            put_on_tray(session=session, unit=unit, actor=by)
            for region, amount in amounts.items():
                make_point(session, unit, amount=amount, region=region, side=side)
            if spilled:
                record_waste(session=session, unit=unit, amount=spilled, reason="Spilled", actor=by)
            sign_session(session=session, remainders={unit.pk: rest}, actor=by)
        return session

    return treat


@pytest.fixture
def clinic(desk, injector, owner, treat):
    """
    March: Ida gives Ann 0.7 of 1 mL, spills 0.05, and 0.25 are left over.
    April: Second gives Bea 0.6 of 1 mL and keeps 0.4, which he throws away at the start of May.
    May: Second gives Bea 40 of 100 units, 60 are left over; the owner writes off a syringe.
    """
    second = make_user("second", is_injector=True)
    ann, bea = make_patient(desk, "Ann Example"), make_patient(desk, "Bea Example")
    filler = make_product()
    toxin = make_product(
        "Toxin 100 units", kind=ProductKind.TOXIN, content=10_000, lidocaine_ug_per_ml=0
    )
    one, two, spare = make_units(owner, filler, quantity=3)
    (vial,) = make_units(owner, toxin, number="T1", quantity=1)
    treat(ann, injector, MARCH, one, {"temple": 300, "mental": 400}, spilled=50)
    treat(bea, second, APRIL, two, {"temple": 600}, rest=Remainder.KEPT)
    treat(bea, second, MAY, vial, {"glabella": 4_000}, side=Side.MIDLINE)
    with time_machine.travel(MAY, tick=False):
        discard_remainder(unit=two, reason="Kept too long", actor=second)
        take_out_of_stock(unit=spare, kind=MovementKind.WRITTEN_OFF, reason="Expired", actor=owner)
    return SimpleNamespace(ann=ann, bea=bea, filler=filler, toxin=toxin, second=second)
