"""Handing out a record."""

from django.utils import timezone

from clinic.audit.services import record_read
from records.interchange.bundle import bundle_of
from records.interchange.json_text import json_text
from records.interchange.queries import read_record
from records.patients.models import Patient


def hand_out_record(*, patient: Patient, actor) -> str:
    """
    The patient's whole record as FHIR in JSON, and a row in the audit trail that it was handed out.

    Args:
        actor: who has it; None for a command that names nobody.
    """
    record = read_record(patient, at=timezone.now())
    text = "".join(json_text(bundle_of(record)))
    record_read(actor, patient, patient_id=patient.pk, action="patient.record_exported")
    return text
