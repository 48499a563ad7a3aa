"""Signed sessions in one line, for what follows from them."""

from datetime import UTC, date, datetime, time
from itertools import count

from django.utils import timezone

from clinic.products.models import Product
from planning.vocabulary import ProductKind
from records.patients.models import Patient
from records.sessions.enums import Remainder
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import sign_session
from records.sessions.services.tray import put_on_tray
from tests.factories import make_point, make_product, make_session, make_units

CHEEK, LIP = {"x_dmm": 500, "y_dmm": 330}, {"x_dmm": 60, "y_dmm": 640}
FILLER, TOXIN = ProductKind.HA_FILLER, ProductKind.TOXIN
CONTENT = {FILLER: 1000, TOXIN: 10_000}
_numbers = count()


def product_of(kind: ProductKind) -> Product:
    return make_product(f"{kind.label} {next(_numbers)}", kind=kind, content=CONTENT[kind])


def start(injector, patient: Patient, day: date, given) -> TreatmentSession:
    """`given`: (kind, place) pairs, each a point of a unit of its own."""
    # Today's took place by now, however early it is.
    at = min(datetime.combine(day, time(10), tzinfo=UTC), timezone.now())
    session = make_session(injector, patient, started_at=at, late_reason="Written down later")
    for kind, place in given:
        (unit,) = make_units(injector, product_of(kind), quantity=1, number=f"L{next(_numbers)}")
        made_up = {"diluent": "saline", "diluent_ul": 2500} if kind is TOXIN else {}
        put_on_tray(session=session, unit=unit, actor=injector, opened_at=at, **made_up)
        make_point(session, unit, **place)
    return session


def sign(session: TreatmentSession) -> TreatmentSession:
    remainders = {row.unit_id: Remainder.WASTED for row in session.tray.all()}
    return sign_session(session=session, remainders=remainders, actor=session.injector)


def treat(injector, patient: Patient, day: date, *given) -> TreatmentSession:
    """A signed session of that day; filler in the cheek where nothing is said."""
    return sign(start(injector, patient, day, given or [(FILLER, CHEEK)]))
