"""A patient's whole record as a file."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from clinic.access.rules import CLINICAL, allow
from records.interchange.services import hand_out_record
from records.patients.models import Patient


@allow(*CLINICAL)
@require_GET
def record_file(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything the clinic knows of the patient, to be handed to whoever treats them next."""
    patient = get_object_or_404(Patient, pk=pk)
    text = hand_out_record(patient=patient, actor=request.user)
    response = HttpResponse(text, content_type="application/fhir+json; charset=utf-8")
    name = f"record-{patient.record_number}.json"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "no-store"
    return response
