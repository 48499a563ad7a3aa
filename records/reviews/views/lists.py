"""The work list of reviews, and a patient's own."""

from dataclasses import replace
from datetime import timedelta

from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access.rules import EVERYONE, allow
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy, review_rule
from records.patients.models import Patient
from records.reviews.enums import Standing
from records.reviews.forms import WorkListFilter
from records.reviews.queries.work_list import WorkList, patient_reviews

PER_PAGE = 50


@allow(*EVERYONE)
@require_GET
def review_list(request: HttpRequest) -> HttpResponse:
    """Open reviews up to the days the policy looks ahead, the oldest first."""
    today, policy = timezone.localdate(), current_policy()
    asked = WorkListFilter(request.GET)
    asked.is_valid()
    injector = asked.cleaned_data.get("injector")
    standing = asked.cleaned_data.get("standing")
    work = WorkList(
        on=today,
        until=today + timedelta(days=policy.review_lead_days),
        injector_id=injector.pk if injector else None,
    )
    counts = work.counts()
    chosen = replace(work, standing=Standing(standing)) if standing else work
    # A count and slices are all that a paginator asks for.
    page: Page = Paginator(chosen, PER_PAGE).get_page(request.GET.get("page"))  # type: ignore[arg-type]
    context = {
        "today": today,
        "lead_days": policy.review_lead_days,
        "usual": str(review_rule(policy).interval),
        "asked": asked,
        "chosen": standing,
        "tabs": [(term, counts[term.value]) for term in Standing],
        "total": sum(counts.values()),
        "page_obj": page,
        "rows": page.object_list,
    }
    return render(request, "reviews/list.html", context)


@allow(*EVERYONE)
@require_GET
def for_patient(request, pk):
    """A patient's reviews, open and closed, for the page of the patient."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="reviews.read")
    context = {
        "patient": patient,
        "reviews": patient_reviews(patient, on=timezone.localdate()),
        "back": request.htmx.current_url_abs_path or "",
    }
    return render(request, "reviews/_for_patient.html", context)
