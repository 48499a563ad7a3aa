"""What a patient had elsewhere: a panel on the patient's page, adding and withdrawing."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from records.elsewhere.errors import AlreadyWithdrawn, ReasonMissing
from records.elsewhere.forms import ReportedCareForm, WithdrawForm
from records.elsewhere.models import ReportedCare
from records.elsewhere.services import report_care, withdraw_care
from records.patients.models import Patient


@allow(*CLINICAL)
@require_GET
def elsewhere_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """What stands, the latest first, for the page of the patient."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.reported_care")
    context = {"patient": patient, "reports": patient.reported_care.standing().latest_first()}
    return render(request, "elsewhere/_for_patient.html", context)


@allow(*CLINICAL)
@require_http_methods(["GET", "POST"])
def elsewhere_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down one thing the patient had."""
    patient = get_object_or_404(Patient, pk=pk)
    back = reverse("patient-detail", args=[pk])
    form = ReportedCareForm(
        request.POST if request.method == "POST" else None,
        instance=ReportedCare(patient=patient),
        back=back,
    )
    if request.method == "POST" and form.is_valid():
        report_care(care=form.save(commit=False), actor=request.user)
        messages.success(request, "Written down.")
        return redirect(back)
    context = {"form": form, "patient": patient}
    return render(request, "elsewhere/add.html", context, status=422 if form.errors else 200)


@allow(*CLINICAL)
@require_http_methods(["GET", "POST"])
def elsewhere_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what was not so."""
    care = get_object_or_404(ReportedCare.objects.select_related("patient"), pk=pk)
    back = reverse("patient-detail", args=[care.patient_id])
    form = WithdrawForm(request.POST if request.method == "POST" else None, back=back)
    if request.method == "POST" and form.is_valid():
        try:
            withdraw_care(care=care, actor=request.user, **form.cleaned_data)
        except (AlreadyWithdrawn, ReasonMissing) as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Withdrawn.")
            return redirect(back)
    context = {"form": form, "care": care, "patient": care.patient}
    return render(request, "elsewhere/withdraw.html", context, status=422 if form.errors else 200)
