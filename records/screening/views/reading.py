"""Reading what a patient said: on the record's page, and answer by answer."""

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, EVERYONE, allow, reads_clinical
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from clinic.staff.models import User
from records.patients.models import Patient
from records.screening.forms import CheckForm
from records.screening.models import HistoryForm
from records.screening.queries import answer_rows, form_before, standing_of
from records.screening.services.histories import check_history


@allow(*EVERYONE)
@require_GET
def for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """How the history stands, and the ways to ask; answers only for who reads clinical detail."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.histories")
    standing = standing_of(patient, current_policy(only=["history_months"]).history_months)
    sent = HistoryForm.objects.answered().filter(patient=patient).order_by("-answered_at", "-id")
    context = {
        "patient": patient,
        "standing": standing,
        "is_old": standing.is_old(timezone.localdate()),
        "is_same": standing.form and standing.form.questionnaire.is_in_use,
        "waiting": HistoryForm.objects.waiting().filter(patient=patient).select_related("link"),
        "reads_clinical": reads_clinical(request.user),
        "earlier": sent[1:6],
    }
    return render(request, "screening/_for_patient.html", context)


@allow(*CLINICAL)
@require_GET
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    """The answers, with what changed since the form before and the alerts they raised."""
    history = _history(pk)
    record_read(request.user, history, patient_id=history.patient_id)
    return _page(request, history, CheckForm())


@allow(Role.INJECTOR)
@require_POST
def check(request: HttpRequest, pk: int) -> HttpResponse:
    """An injector has read it."""
    history = _history(pk)
    form = CheckForm(request.POST)
    if not form.is_valid():
        return _page(request, history, form, status=422)
    check_history(form=history, note=form.cleaned_data["note"], actor=cast(User, request.user))
    messages.success(request, "Noted that you have read it.")
    return redirect("screening-detail", pk)


def _history(pk: int) -> HistoryForm:
    sent = HistoryForm.objects.answered()
    return get_object_or_404(sent.select_related("patient", "questionnaire", "begun_by"), pk=pk)


def _page(
    request: HttpRequest, history: HistoryForm, form: CheckForm, status: int = 200
) -> HttpResponse:
    before, sections = form_before(history), answer_rows(history)
    context = {
        "history": history,
        "patient": history.patient,
        "before": before,
        "sections": sections,
        "changed": sum(row.change in ("changed", "new") for _, rows in sections for row in rows),
        "checks": history.checks.select_related("by"),
        "form": form,
    }
    return render(request, "screening/detail.html", context, status=status)
