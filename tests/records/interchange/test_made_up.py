"""Records made up at random, without a database: each is a bundle of the standard that adds up."""

from collections import defaultdict
from datetime import UTC, date, datetime
from decimal import Decimal

from fhir.resources.R4B.bundle import Bundle
from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.policy.models import ClinicPolicy
from clinic.products.models import Product
from clinic.staff.models import User
from clinic.stock.models import Lot, UnitOfStock
from planning.atlas.regions import Region
from planning.care import CareKind, Precision
from planning.vocabulary import Plane, ProductKind, Side, Technique
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.elsewhere.models import ReportedCare
from records.interchange.bundle import bundle_of
from records.interchange.json_text import json_text
from records.interchange.parts import BASE
from records.interchange.queries import PatientRecord
from records.patients.enums import AlertKind, AlertLevel, Sex
from records.patients.models import Alert, Patient
from records.sessions.models import InjectionEntry, TreatmentSession

NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
STAFF = User(pk=1, username="ida", full_name="Ida Injector")
HANGING_ON = (
    "points", "tray", "occlusions", "anaesthesia", "addenda", "time_out_checks", "gate_decisions",
    "notes", "pictures", "aftercare_sheets",
)  # fmt: skip
# With a letter in it, as every form asks for; what surrounds it may be anything.
WORDS = st.text('a Z\u00e9\u05d0\u4e2d"<&\\\n\t\x07\u202e', max_size=8).map(lambda text: f"x{text}")
MOMENTS = st.integers(10**9, 19 * 10**8).map(lambda second: datetime.fromtimestamp(second, UTC))
DAYS = st.dates(date(1900, 1, 1), date(2030, 1, 1))


def unit_of(kind: ProductKind) -> UnitOfStock:
    """The only unit of its kind, of a product of its own; nobody made it up."""
    number = list(ProductKind).index(kind) + 1
    product = Product(pk=number, name=f"Product {kind}", maker="Example Maker", kind=kind)
    lot = Lot(pk=number, product=product, number=f"L{number}", expires_on=date(2030, 6, 30))
    unit = UnitOfStock(pk=number, label=f"U{number:06d}", lot=lot, content=10**9)
    unit._state.fields_cache["opening"] = None
    return unit


UNITS = {kind: unit_of(kind) for kind in ProductKind}


@st.composite
def points(draw) -> list[InjectionEntry]:
    kinds = draw(st.lists(st.sampled_from(list(ProductKind)), max_size=6))
    return [
        InjectionEntry(
            pk=number, key=f"00000000-0000-4000-8000-{number:012d}", number=number,
            unit=UNITS[kind], view="front", x_dmm=draw(st.integers(-900, 900)), y_dmm=330,
            chart_version="1", region=draw(st.sampled_from(list(Region))),
            side=draw(st.sampled_from(list(Side))), plane=draw(st.sampled_from(list(Plane))),
            technique=draw(st.sampled_from(list(Technique))), instrument="cannula",
            aspiration="not_done", amount=draw(st.integers(1, 10**6)), tapped_at=draw(MOMENTS),
            logged_by_id=1, removed_at=draw(st.none() | MOMENTS), deviation=draw(WORDS),
        )
        for number, kind in enumerate(kinds, start=1)
    ]  # fmt: skip


@st.composite
def records(draw) -> PatientRecord:
    patient = Patient(
        pk=1, record_number="P000001", full_name=draw(WORDS), known_as=draw(WORDS),
        birth_date=draw(DAYS), sex=draw(st.sampled_from(list(Sex))), address=draw(WORDS),
        weight_g=draw(st.none() | st.integers(20_000, 400_000)),
    )  # fmt: skip
    session = TreatmentSession(
        pk=1, patient=patient, injector_id=1, started_at=draw(MOMENTS), note=draw(WORDS)
    )
    session._prefetched_objects_cache = {name: [] for name in HANGING_ON}
    session._prefetched_objects_cache["points"] = draw(points())
    return PatientRecord(
        at=NOW, clinic="a trail", patient=patient, policy=ClinicPolicy(), staff={1: STAFF},
        sessions=[session],
        alerts=[
            Alert(pk=number, kind=kind, level=draw(st.sampled_from(list(AlertLevel))),
                  text=draw(WORDS), added_at=draw(MOMENTS), added_by_id=1, ended_by_id=1,
                  ended_at=draw(st.none() | MOMENTS), end_reason=draw(WORDS))
            for number, kind in enumerate(AlertKind)
        ],
        appointments=[
            Appointment(pk=number, practitioner_id=1, kind="review", starts_at=draw(MOMENTS),
                        minutes=draw(st.integers(5, 480)), state=state, note=draw(WORDS),
                        cancel_reason="x" if state == "cancelled" else "")
            for number, state in enumerate(AppointmentState)
        ],
        elsewhere=[
            ReportedCare(pk=number, kind=kind, precision=precision, reported_at=NOW,
                         reported_by_id=1, note=draw(WORDS),
                         day=None if precision is Precision.UNKNOWN else draw(DAYS))
            for number, (kind, precision) in enumerate(
                (kind, precision) for kind in CareKind for precision in Precision
            )
        ],
    )  # fmt: skip


def given_in(bundle: dict) -> dict[str, Decimal]:
    """By code of the product's kind, without what was entered in error."""
    found: dict[str, Decimal] = defaultdict(Decimal)
    for resource in (entry["resource"] for entry in bundle["entry"]):
        if resource.get("status") == "entered-in-error":
            continue
        for row in resource.get("extension", []):
            if row["url"] == f"{BASE}/StructureDefinition/injected-amount":
                found[resource["code"]["coding"][0]["code"]] += row["valueQuantity"]["value"]
        if resource["resourceType"] == "MedicationAdministration":
            parts = {entry["fullUrl"]: entry["resource"] for entry in bundle["entry"]}
            point = parts[resource["partOf"][0]["reference"]]
            found[point["code"]["coding"][0]["code"]] += resource["dosage"]["dose"]["value"]
    return found


@given(records())
@settings(max_examples=25, deadline=None)
def test_any_record_is_a_bundle_that_adds_up(record):
    bundle = bundle_of(record)
    text = "".join(json_text(bundle))
    assert Bundle.model_validate_json(text).type == "collection"
    known = {entry["fullUrl"] for entry in bundle["entry"]}
    assert len(known) == len(bundle["entry"])
    assert {part.split('"')[1] for part in text.split('"reference": ')[1:]} <= known
    recorded: dict[str, Decimal] = defaultdict(Decimal)
    for point in record.sessions[0].points.all():
        if point.removed_at is None:
            scale = -2 if point.measure == "dose" else -3
            recorded[point.unit.lot.product.kind] += Decimal(point.amount).scaleb(scale)
    assert given_in(bundle) == recorded
