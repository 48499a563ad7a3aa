"""The way to the follow-up list, and a patient's own reviews."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access.rules import EVERYONE, allow
from clinic.audit.services import record_read
from records.patients.models import Patient
from records.reviews.queries.work_list import patient_reviews


@allow(*EVERYONE)
@require_GET
def review_list(request: HttpRequest) -> HttpResponse:
    """Reviews are worked through on the follow-up list; what was asked of this one goes along."""
    query = request.GET.urlencode()
    return redirect(f"{reverse('follow-up')}{'?' if query else ''}{query}")


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
