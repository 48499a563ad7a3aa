"""Occlusion logs: as a list, of one patient, one by itself, and its handover sheet."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET, require_safe

from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from planning.occlusion import REASSESSMENT, REFILL
from planning.occlusion_protocol import ADAPT
from records.occlusions.queries import log_of, logs, running
from records.occlusions.services import give_out_sheet
from records.patients.models import Patient

PER_PAGE = 40


@allow(*CLINICAL)
@require_GET
def occlusion_list(request: HttpRequest) -> HttpResponse:
    """All logs, the latest first; how many of them are running."""
    page = Paginator(logs(), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "page_obj": page,
        "logs": [log_of(row) for row in page],
        "running": running().count(),
        "adapt": ADAPT,
    }
    return render(request, "occlusions/list.html", context)


@allow(*CLINICAL)
@require_GET
def occlusion_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """A patient's logs, for the page of the patient; nothing where there is none."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.occlusions")
    found = [log_of(row) for row in logs().filter(session__patient=patient)]
    return render(request, "occlusions/_for_patient.html", {"patient": patient, "logs": found})


@allow(*CLINICAL)
@require_GET
def occlusion_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One log, line by line."""
    occlusion = get_object_or_404(logs(), pk=pk)
    session = occlusion.session
    record_read(request.user, occlusion, patient_id=session.patient_id)
    context = {
        "log": log_of(occlusion),
        "patient": session.patient,
        "sources": (REFILL, REASSESSMENT),
        "adapt": ADAPT,
    }
    return render(request, "occlusions/detail.html", context)


@allow(*CLINICAL)
@require_safe
def occlusion_handover(request: HttpRequest, pk: int) -> HttpResponse:
    """The handover sheet as PDF."""
    occlusion = get_object_or_404(logs(), pk=pk)
    pdf = give_out_sheet(occlusion=occlusion, actor=request.user)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="handover-{occlusion.pk}.pdf"'
    return response
