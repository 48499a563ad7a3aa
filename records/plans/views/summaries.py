"""The summary with its quote, as a PDF for the patient."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from records.plans.errors import PlanError
from records.plans.models import Plan, PlanSummary
from records.plans.services.summaries import issue_summary


@allow(Role.INJECTOR)
@require_POST
def summary_issue(request: HttpRequest, pk: int) -> HttpResponse:
    """Print the plan as it stands for the patient; what was given out is kept."""
    plan = get_object_or_404(Plan, pk=pk)
    try:
        summary = issue_summary(plan=plan, actor=request.user)
    except PlanError as error:
        messages.error(request, str(error))
        return redirect("plan-detail", pk)
    messages.success(request, f"Summary {summary.number} is ready, under “Given in writing”.")
    return redirect(f"{reverse('plan-detail', args=[pk])}#given-in-writing")


@allow(*CLINICAL)
@require_safe
def summary_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    summary = get_object_or_404(PlanSummary.objects.select_related("plan"), pk=pk)
    patient_id = summary.plan.patient_id
    record_read(request.user, summary, patient_id=patient_id, action="plan.summary_printed")
    response = HttpResponse(bytes(summary.pdf), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="plan-summary-{summary.pk}.pdf"'
    return response
