"""The bundle says what the record says, also of what was removed, withdrawn or set aside."""

import hashlib
import re
from base64 import b64decode
from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal

import pytest
import time_machine
from biip.gs1_messages import GS1Message
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from planning.amounts import parse_amount
from planning.vocabulary import Measure
from records.adverse_events.enums import EventOutcome, Grade
from records.interchange.bundle import bundle_of
from records.interchange.parts import BASE, UCUM
from records.interchange.queries import read_record
from records.sessions.enums import Remainder
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.queries.points import session_points, session_totals
from records.sessions.services.signing import sign_session
from tests.factories import (
    make_event,
    make_patient,
    make_photograph,
    make_point,
    make_session,
    make_session_with_unit,
)
from tests.records.interchange.rich import GTIN, PDF, clock
from tests.records.interchange.test_standard import at, resources
from tests.records.screening.histories import make_history

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def still_that_afternoon():
    """What a test adds comes after what was there."""
    with time_machine.travel(clock() + timedelta(hours=1), tick=True):
        yield


def made_for(patient) -> dict:
    return bundle_of(read_record(patient, at=timezone.now()))


def of_kind(bundle: dict, kind: str) -> list[dict]:
    found = [entry["resource"] for entry in bundle["entry"]]
    return [resource for resource in found if resource["resourceType"] == kind]


def own_extension(resource: dict, name: str) -> list[dict]:
    url = f"{BASE}/StructureDefinition/{name}"
    return [row for row in resource.get("extension", []) if row["url"] == url]


def by_url(rich) -> dict[str, dict]:
    return {entry["fullUrl"]: entry["resource"] for entry in rich.bundle["entry"]}


def product_of(used: dict) -> str:
    if used["resourceType"] == "Device":
        return used["deviceName"][0]["name"]
    return used["code"]["text"]


def amounts_in(rich) -> dict[str, Decimal]:
    """
    By product, what points gave: fillers with their Procedure, medicines with their
    MedicationAdministration; what was entered in error was not given.
    """
    known, total = by_url(rich), defaultdict(Decimal)
    for resource in resources(rich):
        if resource.get("status") == "entered-in-error":
            continue
        for row in own_extension(resource, "injected-amount"):
            used = known[resource["usedReference"][0]["reference"]]
            total[product_of(used)] += Decimal(row["valueQuantity"]["value"])
        if resource["resourceType"] == "MedicationAdministration":
            parent = known[resource["partOf"][0]["reference"]]
            if own_extension(parent, "injection"):
                used = known[resource["medicationReference"]["reference"]]
                total[product_of(used)] += Decimal(resource["dosage"]["dose"]["value"])
    return total


def test_amounts_add_up_to_the_totals_of_the_record(rich):
    of_record = defaultdict(int)
    measures = {}
    for session in TreatmentSession.objects.filter(patient=rich.patient):
        for row in session_totals(session_points(session)).per_product:
            of_record[row.product_label] += row.amount
            measures[row.product_label] = row.measure
    in_bundle = {
        name: parse_amount(f"{value:f}", Measure(measures[name]))
        for name, value in amounts_in(rich).items()
    }
    assert in_bundle == of_record
    assert len(of_record) == 6


def test_amounts_are_numbers_with_the_digits_that_were_recorded(rich):
    """Looked at as text: parsed and printed again, a float would hide behind its rounding."""
    values = set(re.findall(r'"value": ([0-9.]+)', rich.text))
    assert {"0.2", "0.125", "4", "2.5", "150", "0.5", "250.5", "36", "62.5"} <= values
    assert max(len(value) for value in values) <= 5


def test_units_are_of_ucum_and_those_of_a_toxin_arbitrary(rich):
    """UCUM's table of common codes has mL, mg, kg, mm, s and [arb'U]."""
    doses = {
        (row["dosage"]["dose"]["system"], row["dosage"]["dose"]["code"])
        for row in at(rich, "MedicationAdministration")
        if "dosage" in row
    }
    assert doses == {(UCUM, "[arb'U]"), (UCUM, "mg"), (UCUM, "mL")}
    cautioned = [
        row["dosage"]["text"]
        for row in at(rich, "MedicationAdministration")
        if row.get("dosage", {}).get("dose", {}).get("code") == "[arb'U]"
    ]
    assert len(cautioned) == 6
    assert all("not interchangeable" in text for text in cautioned)


def test_the_code_of_a_syringe_reads_as_its_pack(rich):
    """Read back by biip, a reader of GS1 codes."""
    carriers = at(rich, "Device.udiCarrier")
    whole = [carrier for carrier in carriers if "carrierHRF" in carrier]
    assert [carrier["deviceIdentifier"] for carrier in whole] == [GTIN]
    read = GS1Message.parse_hri(whole[0]["carrierHRF"]).element_strings
    assert [(one.ai.ai, one.value) for one in read] == [
        ("01", GTIN), ("17", "300630"), ("10", "LOT-filler"),
    ]  # fmt: skip
    assert read[1].date == date(2030, 6, 30)


def test_a_removed_point_is_entered_in_error_with_its_medicine_and_its_change(rich):
    removed = InjectionEntry.objects.get(session__patient=rich.patient, removed_at__isnull=False)
    told = [row for row in at(rich, "Procedure") if str(removed.key) in str(row.get("identifier"))]
    assert [row["status"] for row in told] == ["entered-in-error"]
    assert "entered in error" in told[0]["note"][0]["text"]
    url = f"urn:uuid:{told[0]['id']}"
    changes = [
        row["activity"]["text"]
        for row in at(rich, "Provenance")
        if {"reference": url} in row["target"]
    ]
    assert sorted(changes) == ["Create", "Nullify"]


def test_a_changed_point_says_who_changed_it(rich):
    assert [
        row["activity"]["text"]
        for row in at(rich, "Provenance")
        if row["activity"]["text"] == "Revise"
    ] == ["Revise"]


def test_a_sitting_set_aside_was_entered_in_error(rich):
    assert sorted(row["status"] for row in at(rich, "Encounter")) == [
        "entered-in-error", "finished", "finished", "finished", "in-progress",
    ]  # fmt: skip
    sittings = [
        row["status"] for row in at(rich, "Procedure") if row["code"]["text"] == "Treatment session"
    ]
    assert sorted(sittings) == ["completed", "completed", "entered-in-error", "in-progress"]


def test_what_was_taken_back_is_told_as_such(rich):
    withdrawn = [row["status"] for row in at(rich, "Procedure") if "category" in row]
    assert sorted(withdrawn) == ["completed", "completed", "entered-in-error"]
    pictures = [
        row["status"]
        for row in at(rich, "DocumentReference")
        if row["type"]["text"] == "Photograph"
    ]
    assert sorted(pictures) == ["current", "current", "entered-in-error"]
    mistaken = [
        row for row in at(rich, "MedicationAdministration") if row["status"] == "entered-in-error"
    ]
    assert len(mistaken) == 2  # an anaesthetic removed, and a dose of a log opened by mistake


def test_consents_stand_as_they_stand_today(rich):
    """Withdrawn, given anew, for photographs, refused; then the uses of two photographs."""
    treatment = [
        row["status"]
        for row in at(rich, "Consent")
        if row["policyRule"]["text"].endswith("version 1")
    ]
    assert treatment == ["inactive", "active", "active", "rejected"]
    uses = [
        row["status"]
        for row in at(rich, "Consent")
        if row["policyRule"]["text"].startswith("Photograph used")
    ]
    assert uses == ["active", "inactive", "inactive"]
    paper = by_url(rich)[at(rich, "Consent")[0]["sourceReference"]["reference"]]
    assert paper["relatesTo"][0]["code"] == "replaces"


def test_a_review_written_again_replaces_what_was_said(rich):
    ratings = [
        (row["status"], row["valueCodeableConcept"]["text"])
        for row in at(rich, "Observation")
        if "Improvement Scale" in row["code"].get("text", "")
    ]
    assert ratings == [
        ("entered-in-error", "2 much improved"),
        ("entered-in-error", "3 improved"),
        ("corrected", "2 much improved"),
        ("corrected", "3 improved"),
    ]


def test_a_day_known_in_part_is_told_in_part(rich):
    days = [row.get("performedDateTime") for row in at(rich, "Procedure") if "category" in row]
    assert days == ["2026-03", "2020", None]
    assert [row.get("occurrenceString") for row in at(rich, "Immunization")] == [
        None, "Day not known",
    ]  # fmt: skip


def test_papers_are_inside_byte_for_byte(rich):
    papers = [
        attachment
        for attachment in at(rich, "DocumentReference.content.attachment")
        if attachment["contentType"] == "application/pdf"
    ]
    assert len(papers) == 8
    for paper in papers:
        assert b64decode(paper["data"]) == PDF
        assert b64decode(paper["hash"]) == hashlib.sha1(PDF).digest()  # noqa: S324 (FHIR's own)
        assert paper["extension"][0]["valueString"] == hashlib.sha256(PDF).hexdigest()


def test_a_photograph_is_named_by_its_digest_alone(rich):
    picture = rich.patient.photographs.first()
    told = [
        attachment
        for attachment in at(rich, "DocumentReference.content.attachment")
        if attachment["contentType"] == "image/jpeg"
    ]
    assert picture.digest in {row["extension"][0]["valueString"] for row in told}
    assert not any("data" in row or "url" in row for row in told)


def test_the_signature_holds_the_digest_of_the_signed_record(rich):
    signed = TreatmentSession.objects.exclude(signed_digest="").get(patient=rich.patient)
    data = [
        b64decode(signature["data"]).decode()
        for row in at(rich, "Provenance")
        for signature in row.get("signature", [])
        if "data" in signature
    ]
    assert f"SHA-256 {signed.signed_digest}" in data


def test_an_event_names_what_is_suspected_as_far_as_it_is_known(rich):
    known = by_url(rich)
    suspected = [
        " ".join(sorted(known[s["instance"]["reference"]]["resourceType"] for s in suspects))
        for suspects in (row.get("suspectEntity", []) for row in at(rich, "AdverseEvent"))
    ]
    assert sorted(suspected) == [
        "",
        "Device",
        "Device MedicationAdministration Procedure Procedure Procedure",
        "Medication",
        "Procedure",
    ]
    wide = next(row for row in at(rich, "AdverseEvent") if len(row.get("suspectEntity", [])) == 5)
    assert wide["severity"]["text"] == "Grade 3, severe"
    assert wide["seriousness"]["coding"][0]["code"] == "SeriousRequiresPreventImpairment"
    assessed = wide["suspectEntity"][0]["causality"][0]["assessment"]
    assert assessed["coding"][0]["code"] == "Probably-Likely"


def test_ids_are_the_same_each_time(rich):
    def ids(bundle):
        return [entry["fullUrl"] for entry in bundle["entry"]]

    assert ids(made_for(rich.patient)) == ids(made_for(rich.patient)) == ids(rich.bundle)


def test_two_clinics_give_two_patients_of_one_number_two_ids(rich):
    record = read_record(rich.patient, at=timezone.now())
    other = type(record)(**{**vars(record), "clinic": "another trail"})
    ours, theirs = ({e["fullUrl"] for e in bundle_of(r)["entry"]} for r in (record, other))
    assert not ours & theirs


def test_a_death_is_told_where_an_event_tells_of_it(injector, patient):
    assert "deceasedBoolean" not in of_kind(made_for(patient), "Patient")[0]
    make_event(injector, patient, grade=Grade.DEATH, outcome=EventOutcome.FATAL)
    assert of_kind(made_for(patient), "Patient")[0]["deceasedBoolean"] is True


def test_a_patient_of_whom_nothing_is_known_is_a_bundle_too(patient):
    kinds = [entry["resource"]["resourceType"] for entry in made_for(patient)["entry"]]
    assert kinds == ["Patient", "Organization"]


def test_nothing_of_another_patient_is_in_it(rich):
    other = make_patient(rich.team.desk, "Otto Other")
    make_event(rich.team.injector, other, signs="Of somebody else")
    make_session(rich.team.injector, other)
    again = made_for(rich.patient)
    assert len(again["entry"]) == len(rich.bundle["entry"])
    assert "somebody else" not in str(again)


def test_more_is_read_in_as_many_queries_and_built_without_any(rich, django_assert_num_queries):
    with CaptureQueriesContext(connection) as once:
        record = read_record(rich.patient, at=timezone.now())
    with django_assert_num_queries(0):
        bundle_of(record)
    team, patient = rich.team, rich.patient
    unfinished = TreatmentSession.objects.unsigned().get(patient=patient)
    rest = {row.unit_id: Remainder.KEPT for row in unfinished.tray.all()}
    sign_session(session=unfinished, remainders=rest, actor=team.injector)
    again = make_session_with_unit(team.injector, patient, unfinished.points.get().unit)
    make_point(again, unfinished.points.get().unit)
    make_event(team.injector, patient, session=again)
    make_photograph(team.injector, patient)
    make_history(team.injector, patient)
    with django_assert_num_queries(len(once)):
        read_record(patient, at=timezone.now())
