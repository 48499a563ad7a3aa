"""What one patient received, as a page, a panel of the patient's page, a CSV file and a PDF."""

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from clinic.printing.csv_files import csv_download
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from records.occlusions.queries import doses_of_patient
from records.patients.models import Patient
from records.sessions.queries.received import by_lot, received_by
from records.trace.exports import received_as_csv

# In the panel; the page has all of them.
SHOWN_LOTS = 6


@allow(*CLINICAL)
@require_safe
def trace_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """Every lot of which the patient got something, with its state now."""
    patient = _read(request, pk, "patient.traced")
    return render(request, "trace/patient.html", _context(patient))


@allow(*CLINICAL)
@require_safe
def trace_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """The lots a patient got last, for the page of the patient."""
    patient = _read(request, pk, "read.lots")
    lots = by_lot(received_by(patient))
    context = {
        "patient": patient,
        "lots": lots[:SHOWN_LOTS],
        "hidden": len(lots[SHOWN_LOTS:]),
        "held": [lot for lot, rows in lots if any(row.held_because for row in rows)],
    }
    return render(request, "trace/_for_patient.html", context)


@allow(*CLINICAL)
@require_safe
def trace_patient_csv(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The same as CSV, a line for each unit of stock in each session."""
    patient = _read(request, pk, "patient.lots_exported")
    lines = received_as_csv(patient, received_by(patient))
    return csv_download(f"lots-of-{patient.record_number}", lines)


@allow(*CLINICAL)
@require_safe
def trace_patient_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The same as a document, to file or to hand to the patient."""
    patient = _read(request, pk, "patient.lots_printed")
    context = _context(patient) | {
        "policy": current_policy(),
        "printed_on": timezone.localdate(),
        "printed_by": request.user,
    }
    response = HttpResponse(
        render_pdf(document_html("print/patient_lots.html", context)),
        content_type="application/pdf",
    )
    name = f"lots-of-{patient.record_number}.pdf"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response


def _read(request: HttpRequest, pk: int, action: str) -> Patient:
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action=action)
    return patient


def _context(patient: Patient) -> dict:
    received = received_by(patient)
    return {
        "patient": patient,
        "lots": by_lot(received),
        "doses": doses_of_patient(patient.pk),
        "treatments": len({row.session.pk for row in received}),
        "today": timezone.localdate(),
    }
