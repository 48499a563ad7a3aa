"""The whole record of one patient as one FHIR bundle."""

from collections.abc import Iterator

from records.interchange.parts import Json, compact, moment
from records.interchange.queries import PatientRecord
from records.interchange.references import References
from records.interchange.resources.alerts import alerts
from records.interchange.resources.body import places
from records.interchange.resources.consents import consents
from records.interchange.resources.documents import documents
from records.interchange.resources.elsewhere import reported_care
from records.interchange.resources.events import adverse_events
from records.interchange.resources.findings import findings
from records.interchange.resources.histories import histories
from records.interchange.resources.medicines import medicines
from records.interchange.resources.people import clinic, patient, staff_and_places
from records.interchange.resources.plans import care_plans
from records.interchange.resources.products import devices, medications
from records.interchange.resources.provenance import provenances
from records.interchange.resources.treatments import device_uses, treatments
from records.interchange.resources.visits import appointments, visits

VERSION = "FHIR R4B (4.3.0)"
"""R4 by another number: the library that checks the bundle in tests has R4B alone."""

_WRITTEN = (
    alerts, histories, appointments, visits, treatments, device_uses, medicines, consents,
    adverse_events, findings, care_plans, reported_care, documents, provenances,
)  # fmt: skip


def bundle_of(record: PatientRecord) -> Json:
    """
    Of type collection: what the clinic knows, gathered as of one moment. A document would be one
    that somebody composed and attests as a whole; what was signed here is signed by itself.

    Pure: two bundles of one record differ by nothing but their time.
    """
    refs = References(record)
    entries = [
        {"fullUrl": f"urn:uuid:{resource['id']}", "resource": resource}
        for resource in map(compact, _resources(record, refs))
    ]
    return {
        "resourceType": "Bundle",
        "type": "collection",
        "timestamp": moment(record.at),
        "entry": entries,
    }


def _resources(record: PatientRecord, refs: References) -> Iterator[Json]:
    yield patient(record, refs)
    yield clinic(record, refs)
    for written in _WRITTEN:
        yield from written(record, refs)
    # What all of the above points at comes last, when it is known.
    yield from devices(refs)
    yield from medications(refs)
    yield from places(refs)
    yield from staff_and_places(refs)
