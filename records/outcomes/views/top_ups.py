"""Carrying the points of last time over into the patient's plan."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from planning.outcomes import Improvement, Rater, TopUp
from records.outcomes.errors import OutcomeError
from records.outcomes.forms.carrying import CarryForm
from records.outcomes.models import ReviewRecord
from records.outcomes.queries.reviews import repeatable_lines
from records.outcomes.services.carrying import carry_over
from records.plans.errors import PlanError
from records.plans.forms import PLANNED_KINDS


@allow(Role.INJECTOR)
@require_http_methods(["GET", "HEAD", "POST"])
def outcome_carry(request: HttpRequest, pk: int) -> HttpResponse:
    """Choose what of last time is given once more, and how much of it."""
    found = ReviewRecord.objects.with_ratings().select_related("review__patient")
    record = get_object_or_404(found, pk=pk)
    if record.top_up != TopUp.TOP_UP or hasattr(record, "carried_over"):
        return redirect("outcome-detail", pk)
    patient, session = record.review.patient, record.review.session
    form = CarryForm(
        request.POST if request.method == "POST" else None,
        lines=repeatable_lines(session, PLANNED_KINDS),
        wanted=_could_be_better(record),
    )
    if request.method == "POST" and form.is_valid():
        try:
            carried = carry_over(record=record, lines=form.chosen, actor=request.user)
        except (OutcomeError, PlanError) as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The top-up is in the plan. Check each line there.")
            return redirect("plan-detail", carried.plan_id)
    record_read(request.user, record, patient_id=patient.pk)
    context = {
        "form": form,
        "record": record,
        "review": record.review,
        "patient": patient,
        "current": patient.plans.still_open().first(),
    }
    return render(request, "outcomes/carry.html", context, status=422 if form.errors else 200)


def _could_be_better(record: ReviewRecord) -> set[str]:
    """Regions in which the injector saw no more than "improved"."""
    return {
        rating.region
        for rating in record.ratings.all()
        if rating.rater == Rater.INJECTOR and rating.grade >= Improvement.IMPROVED.number
    }
