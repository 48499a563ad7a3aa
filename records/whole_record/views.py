"""The whole record of a patient: why it is handed out, waiting for it, the PDF."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_safe

from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.background.queries import worker_silence
from records.patients.models import Patient
from records.whole_record.errors import WholeRecordError
from records.whole_record.forms import AskForm
from records.whole_record.models import WholeRecord
from records.whole_record.services import ask_for, hand_out


@allow(*CLINICAL)
@require_GET
def whole_record_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """For the page of the patient: to whom it was handed out."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.whole_records")
    records = patient.whole_records.defer("pdf").select_related("asked_by")
    return render(
        request, "whole_record/_for_patient.html", {"patient": patient, "records": records}
    )


@allow(*CLINICAL)
@require_http_methods(["GET", "POST"])
def whole_record_ask(request: HttpRequest, pk: int) -> HttpResponse:
    patient = get_object_or_404(Patient, pk=pk)
    form = AskForm(request.POST or None, instance=WholeRecord(patient=patient))
    if form.is_valid():
        try:
            record = ask_for(record=form.instance, actor=request.user)
        except WholeRecordError as error:
            form.add_error("recipient", str(error))
        else:
            return redirect("whole-record-detail", record.pk)
    return render(request, "whole_record/ask.html", {"patient": patient, "form": form})


@allow(*CLINICAL)
@require_GET
def whole_record_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """Who asked for it, for whom and why, and how far it is."""
    record = _record(pk)
    record_read(request.user, record, patient_id=record.patient_id)
    return render(request, "whole_record/detail.html", _state(record))


@allow(*CLINICAL)
@require_GET
def whole_record_state(request: HttpRequest, pk: int) -> HttpResponse:
    """How far it is, asked again and again by its page until it is there."""
    return render(request, "whole_record/_state.html", _state(_record(pk)))


@allow(*CLINICAL)
@require_safe
def whole_record_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    record = get_object_or_404(WholeRecord.objects.select_related("patient"), pk=pk)
    try:
        pdf = hand_out(record=record, actor=request.user)
    except WholeRecordError as error:
        messages.error(request, str(error))
        return redirect("whole-record-detail", record.pk)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="whole-record-{record.pk}.pdf"'
    return response


def _record(pk: int) -> WholeRecord:
    found = WholeRecord.objects.defer("pdf").select_related("patient", "asked_by")
    return get_object_or_404(found, pk=pk)


def _state(record: WholeRecord) -> dict:
    silence = worker_silence() if record.is_waiting else None
    return {"record": record, "patient": record.patient, "silence": silence}
