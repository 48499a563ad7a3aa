"""A session with something of everything a note can say."""

import uuid

import pytest

from clinic.policy.models import ClinicPolicy
from planning.vocabulary import ProductKind
from records.sessions.enums import Remainder
from records.sessions.services.signing import add_addendum, sign_session
from records.sessions.services.tray import put_on_tray
from tests.factories import make_patient, make_point, make_product, make_session, make_units


@pytest.fixture
def policy(db):
    return ClinicPolicy.objects.create(
        name="Larkstone Face Clinic",
        address="4 Example Lane\nLarkstone LK1 0ZZ",
        phone="020 7946 0123",
        emergency_contact="020 7946 0199",
    )


@pytest.fixture
def filler(owner):
    product = make_product("HA filler 1 mL", maker="Lumbrook Biomaterials")
    return make_units(owner, product, number="LOT42")[0]


@pytest.fixture
def toxin(owner):
    product = make_product(
        "Toxin 100 units",
        kind=ProductKind.TOXIN,
        content=10_000,
        lidocaine_ug_per_ml=0,
        is_single_patient=False,
        hours_after_opening=24,
    )
    return make_units(owner, product, number="T88120")[0]


@pytest.fixture
def unsigned(policy, desk, injector, filler, toxin):
    """
    Three points in front and one on the right side, in another number's order than by place.

    1 and 2 filler of lot LOT42 on both cheeks, 3 toxin between the brows, 4 filler at the temple,
    of which some ran out again.
    """
    session = make_session(injector, make_patient(desk, "Ann Example"))
    put_on_tray(session=session, unit=filler, actor=injector)
    made_up = {"diluent_ul": 2500, "diluent": "saline"}
    put_on_tray(session=session, unit=toxin, actor=injector, **made_up)
    make_point(session, filler, key=uuid.UUID(int=1))
    make_point(session, filler, x_dmm=-500, amount=150, technique="fanning", instrument="cannula",
               gauge=25, length_mm=38, aspiration="not_done", plane="subcutaneous")  # fmt: skip
    make_point(session, toxin, x_dmm=0, y_dmm=-80, amount=400, plane="intramuscular",
               gauge=30, length_mm=None)  # fmt: skip
    make_point(session, filler, view="right", x_dmm=-450, y_dmm=-150, amount=75,
               aspiration="positive", deviation="Half of it ran back out")  # fmt: skip
    return session


@pytest.fixture
def signed(unsigned, injector, filler, toxin):
    remainders = {filler.pk: Remainder.WASTED, toxin.pk: Remainder.SHARED}
    return sign_session(session=unsigned, remainders=remainders, actor=injector)


@pytest.fixture
def corrected(signed, injector):
    """`signed` with one addendum, about point 1."""
    add_addendum(
        session=signed,
        point=signed.points.get(number=1),
        reason="Left out of the note",
        text="The patient was given written advice.",
        actor=injector,
    )
    return signed
