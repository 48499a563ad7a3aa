"""The bundle against HL7 FHIR R4B: the reference library, and what it leaves unchecked."""

import json
import re
from collections import Counter

import pytest
from fhir.resources.R4B import get_fhir_model_class

from records.interchange.parts import BASE
from tests.records.interchange.standard import CODES, REQUIRED, REQUIRED_INSIDE

pytestmark = pytest.mark.django_db
# The named twelve, and what else makes them whole.
ASKED_FOR = {
    "Patient", "Encounter", "Procedure", "Device", "DeviceUseStatement", "MedicationAdministration",
    "BodyStructure", "Consent", "AdverseEvent", "Appointment", "DocumentReference", "Provenance",
}  # fmt: skip
ZONED = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(Z|[+-]\d\d:\d\d)")


def resources(rich) -> list[dict]:
    return [entry["resource"] for entry in rich.bundle["entry"]]


def found(node, path: list[str]) -> list:
    """Everything that stands at this path, through lists."""
    if isinstance(node, list):
        return [value for item in node for value in found(item, path)]
    if not path:
        return [node]
    return found(node[path[0]], path[1:]) if path[0] in node else []


def at(rich, path: str) -> list:
    kind, *inner = path.split(".")
    return [
        value
        for resource in resources(rich)
        if resource["resourceType"] == kind
        for value in found(resource, inner)
    ]


def leaves(node, name=""):
    """(name of its element, value) of each value."""
    if isinstance(node, dict):
        for key, value in node.items():
            yield from leaves(value, key)
    elif isinstance(node, list):
        for value in node:
            yield from leaves(value, name)
    else:
        yield name, node


def lacks(node: dict, names: list[str]) -> list[str]:
    return [name for name in names if not any(choice in node for choice in name.split("|"))]


def test_every_resource_is_one_of_the_reference_library(rich):
    """Structure, types, choices and patterns, one by one so that a failure names its resource."""
    for resource in resources(rich):
        model = get_fhir_model_class(resource["resourceType"])
        assert model.model_validate_json(json.dumps(resource, default=str))


def test_the_bundle_as_a_whole_is_one_of_the_reference_library(rich):
    bundle = get_fhir_model_class("Bundle").model_validate_json(rich.text)
    assert bundle.type == "collection"
    assert len(bundle.entry) == len(rich.bundle["entry"])


def test_every_kind_of_resource_is_there(rich):
    kinds = Counter(resource["resourceType"] for resource in resources(rich))
    assert set(kinds) >= ASKED_FOR
    assert set(kinds) == set(REQUIRED)


def test_what_the_standard_requires_is_there(rich):
    missing = [
        (resource["resourceType"], name)
        for resource in resources(rich)
        for name in lacks(resource, REQUIRED[resource["resourceType"]])
    ]
    assert missing == []


@pytest.mark.parametrize("path", REQUIRED_INSIDE)
def test_what_the_standard_requires_inside_is_there(rich, path):
    nodes = at(rich, path)
    assert nodes
    assert [node for node in nodes if lacks(node, REQUIRED_INSIDE[path])] == []


@pytest.mark.parametrize("path", CODES)
def test_codes_are_of_their_value_set(rich, path):
    values = at(rich, path)
    if path.endswith(".coding"):
        # Others may stand beside the one of the value set.
        values = [row["code"] for row in values if not row["system"].startswith(BASE)]
    assert values
    assert set(values) <= set(CODES[path].split())


def test_ids_and_addresses_are_unique_and_agree(rich):
    ids = [resource["id"] for resource in resources(rich)]
    assert len(set(ids)) == len(ids)
    assert [entry["fullUrl"] for entry in rich.bundle["entry"]] == [f"urn:uuid:{i}" for i in ids]


def test_every_reference_leads_to_a_resource_of_the_bundle(rich):
    known = {entry["fullUrl"] for entry in rich.bundle["entry"]}
    references = [value for name, value in leaves(rich.bundle) if name == "reference"]
    assert len(references) > 100
    assert [value for value in references if value not in known] == []


def test_references_lead_to_the_types_that_the_standard_allows(rich):
    """By the reference library's own list for each element."""
    kinds = {e["fullUrl"]: e["resource"]["resourceType"] for e in rich.bundle["entry"]}
    wrong = []
    for resource in resources(rich):
        fields = get_fhir_model_class(resource["resourceType"]).model_fields
        for name, field in fields.items():
            allowed = (field.json_schema_extra or {}).get("enum_reference_types")
            for value in found(resource, [name]):
                if not allowed or "Resource" in allowed or "reference" not in value:
                    continue
                if kinds[value["reference"]] not in allowed:
                    wrong.append((resource["resourceType"], name, kinds[value["reference"]]))
    assert wrong == []


def test_every_moment_has_its_distance_from_utc(rich):
    moments = [
        value
        for _, value in leaves(rich.bundle)
        if isinstance(value, str) and re.match(r"\d{4}-\d\d-\d\dT", value)
    ]
    assert len(moments) > 100
    assert [value for value in moments if not ZONED.fullmatch(value)] == []


def test_nothing_is_empty(rich):
    """FHIR allows no null, and no empty text, list or object."""
    assert [name for name, value in leaves(rich.bundle) if value in (None, "")] == []
    assert not re.search(r"\{\}|\[\]", rich.text)


def test_invariants_that_the_library_does_not_know(rich):
    """
    mad-1 a dosage says how much; ppc-1 a consent names its policy; app-4 a reason of cancelling
    where it was cancelled; ait-1 a clinical status; att-1 data has a type.
    """
    assert all("dose" in dosage for dosage in at(rich, "MedicationAdministration.dosage"))
    by_kind = {kind: [r for r in resources(rich) if r["resourceType"] == kind] for kind in REQUIRED}
    assert all("policyRule" in consent for consent in by_kind["Consent"])
    assert all(
        row["status"] in ("cancelled", "noshow")
        for row in by_kind["Appointment"]
        if "cancelationReason" in row
    )
    assert all("clinicalStatus" in allergy for allergy in by_kind["AllergyIntolerance"])
    attachments = at(rich, "DocumentReference.content.attachment")
    assert all("contentType" in attachment for attachment in attachments if "data" in attachment)


def test_answers_belong_to_questions_of_their_questionnaire(rich):
    asked = {}
    for questionnaire in at(rich, "Questionnaire"):
        ids = [value for name, value in leaves(questionnaire) if name == "linkId"]
        assert len(set(ids)) == len(ids)
        asked[questionnaire["url"]] = set(ids)
    for response in at(rich, "QuestionnaireResponse"):
        ids = {value for name, value in leaves(response) if name == "linkId"}
        assert ids <= asked[response["questionnaire"]]
