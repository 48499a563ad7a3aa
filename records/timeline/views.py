"""The timeline of a patient, as a part of the patient's page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from records.patients.models import Patient
from records.timeline.queries import timeline_of


@allow(*CLINICAL)
@require_GET
def timeline_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """Sessions, reviews and usual durations on one line."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.timeline")
    context = {"timeline": timeline_of(patient, today=timezone.localdate())}
    return render(request, "timeline/_for_patient.html", context)
