"""A clinic of two injectors, two products and three lots, used in March and April 2026."""

from contextlib import contextmanager
from datetime import UTC, date, datetime
from types import SimpleNamespace

import pytest
import time_machine
from django.db import transaction

from planning.vocabulary import ProductKind
from records.sessions.models import TreatmentSession
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


@pytest.fixture
def treat():
    """`treat(patient, by, at, unit, 200, 300, wasted=50)`: one signed session."""

    def treat(patient, by, at, unit, *amounts, wasted=0):
        with time_machine.travel(at, tick=False):
            session = make_session(by, patient)
            put_on_tray(session=session, unit=unit, actor=by)
            for amount in amounts:
                make_point(session, unit, amount=amount)
            if wasted:
                record_waste(session=session, unit=unit, amount=wasted, reason="Primed", actor=by)
            TreatmentSession.objects.filter(pk=session.pk).update(signed_at=at, signed_by=by)

    return treat


@pytest.fixture
def clinic(desk, injector, owner, treat):
    """
    Ann: 0.2 and 0.3 mL of A1 in March (0.05 wasted), 0.1 mL of A1 in April, both by Ida.
    Bea: 0.4 mL of A2 in April by Second; 25 units of T1 (5 wasted) at the very start of May.
    """
    second = make_user("second", is_injector=True)
    ann, bea = make_patient(desk, "Ann Example"), make_patient(desk, "Bea Example")
    filler = make_product()
    toxin = make_product(
        "Toxin 100 units", kind=ProductKind.TOXIN, content=10_000, lidocaine_ug_per_ml=0
    )
    (a1,) = make_units(owner, filler, number="A1", quantity=1)
    (a2,) = make_units(owner, filler, number="A2", quantity=1)
    (t1,) = make_units(owner, toxin, number="T1", quantity=1)
    treat(ann, injector, MARCH, a1, 200, 300, wasted=50)
    treat(ann, injector, APRIL, a1, 100)
    treat(bea, second, APRIL, a2, 400)
    treat(bea, second, MAY, t1, 2_500, wasted=500)
    return SimpleNamespace(ann=ann, bea=bea, filler=filler, toxin=toxin, second=second,
                           a1=a1.lot, a2=a2.lot, t1=t1.lot)  # fmt: skip


@pytest.fixture
def spring():
    return date(2026, 3, 1), date(2026, 5, 31)


@pytest.fixture
def rolled_back(db):
    """`with rolled_back():` leaves nothing behind, so that each example starts afresh."""

    @contextmanager
    def rolled_back():
        with transaction.atomic():
            yield
            transaction.set_rollback(True)

    return rolled_back
