"""Recall cases for tests, each in one line."""

from datetime import date, timedelta

from django.utils import timezone

from clinic.products.models import Product
from clinic.staff.models import User
from clinic.stock.models import UnitOfStock
from records.patients.models import Patient
from records.recalls.models import CasePatient, CaseSpan, RecallCase
from records.recalls.services.cases import open_case
from records.sessions.models import InjectionEntry
from records.sessions.services.signing import sign_session
from tests.factories import make_patient, make_point, make_session_with_unit

PDF = b"%PDF-1.7 the maker's letter"
TEXT = "Cracked barrels were found. Stop using the lot and return what is left."


def make_case(owner: User, *spans: CaseSpan, **fields) -> RecallCase:
    """Opened just now; the notice came ten minutes ago."""
    file = fields.pop("file", None)
    fields = {
        "reference": "FSN-14", "maker": "Example Maker", "recall_class": "2", "text": TEXT,
        "notice_on": date(2026, 11, 20), "received_at": timezone.now() - timedelta(minutes=10),
        "level": "A", **fields,
    }  # fmt: skip
    return open_case(case=RecallCase(**fields), spans=spans, file=file, actor=owner)


def span(product: Product, first: str = "LOT42", last: str = "", **fields) -> CaseSpan:
    return CaseSpan(product=product, lot_first=first, lot_last=last, **fields)


def treat(injector: User, patient: Patient, unit: UnitOfStock, **fields) -> InjectionEntry:
    """A signed session of this patient with one point from the unit, the rest thrown away."""
    session = make_session_with_unit(injector, patient, unit)
    point = make_point(session, unit, **fields)
    unit.refresh_from_db()
    remainders = {} if unit.is_empty else {unit.pk: "wasted"}
    sign_session(session=session, remainders=remainders, actor=injector)
    return point


def make_treated(
    desk: User, injector: User, units: list[UnitOfStock], names: list[str], **fields
) -> list[Patient]:
    """A patient for each name, each treated with a unit of their own."""
    patients = [make_patient(desk, name, **fields) for name in names]
    for patient, unit in zip(patients, units, strict=False):
        treat(injector, patient, unit)
    return patients


def person_of(case: RecallCase, patient: Patient) -> CasePatient:
    return case.people.get(patient=patient)
