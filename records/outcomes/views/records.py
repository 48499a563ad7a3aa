"""Writing up a review, and reading what was written."""

from typing import cast
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from clinic.access.enums import Role
from clinic.access.return_path import return_path
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.staff.models import User
from planning.event_cautions import EMERGENCIES
from planning.outcomes import Improvement, TopUp
from planning.sources import IMPROVEMENT_SCALE, SATISFACTION_SCALE
from records.outcomes.errors import OutcomeError
from records.outcomes.forms.reviewing import ReviewForm
from records.outcomes.models import ReviewDraft, ReviewRecord
from records.outcomes.queries.reviews import (
    misses_event,
    own_answers,
    records_of_patient,
    records_of_review,
    results_of_session,
    treated_regions,
)
from records.outcomes.services.recording import record_review
from records.patients.models import Patient
from records.reviews.enums import ReviewOutcome
from records.reviews.models import Review
from records.sessions.models import TreatmentSession

SCALE = {
    "grades": list(Improvement),
    "scale_source": IMPROVEMENT_SCALE,
    "satisfaction_source": SATISFACTION_SCALE,
}


@allow(Role.INJECTOR)
@require_http_methods(["GET", "HEAD", "POST"])
def outcome_create(request: HttpRequest, pk: int) -> HttpResponse:
    """Write up a review: result by region, satisfaction, what was seen and what follows."""
    review = get_object_or_404(Review.objects.select_related("patient", "session"), pk=pk)
    if review.outcome == ReviewOutcome.EXCUSED:
        return excused_page(request, review)
    draft = review.drafts.filter(author=cast(User, request.user)).first()
    form = review_form(request, review, draft)
    if request.method == "POST" and form.is_valid():
        try:
            record = record_review(
                review=review,
                what=form.what,
                key=form.sent_key,
                actor=request.user,
            )
        except OutcomeError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The review is written up.")
            return redirect(_next_page(record))
    record_read(request.user, review, patient_id=review.patient_id)
    context = {
        "form": form,
        "review": review,
        "patient": review.patient,
        "draft": None if form.is_bound else draft,
        "emergencies": EMERGENCIES,
        **SCALE,
    }
    return render(request, "outcomes/form.html", context, status=422 if form.errors else 200)


def review_form(
    request: HttpRequest, review: Review, draft: ReviewDraft | None = None
) -> ReviewForm:
    """The page to write a review up on, as sent, or with what its author typed before."""
    return ReviewForm(
        request.POST if request.method == "POST" else None,
        initial=dict(draft.typed) if draft else {},
        review=review,
        regions=treated_regions(review.session),
        answers=own_answers(review),
        is_again=review.records.exists(),
        back=return_path(request, otherwise=reverse("review-detail", args=[review.pk])),
    )


def excused_page(request: HttpRequest, review: Review) -> HttpResponse:
    """Where a review leads that is not to be written up."""
    messages.error(request, "This review is excused. Open it again to write it up.")
    return redirect("review-detail", review.pk)


def _next_page(record: ReviewRecord) -> str:
    """The adverse event's form, the choice of what is topped up, or the record itself."""
    own = reverse("outcome-detail", args=[record.pk])
    if misses_event(record):
        session = record.review.session_id
        asked = {"patient": record.review.patient_id, "session": session, "next": own}
        return f"{reverse('adverse-event-create')}?{urlencode(asked)}"
    if record.top_up == TopUp.TOP_UP:
        return reverse("outcome-carry", args=[record.pk])
    return own


@allow(*CLINICAL)
@require_safe
def outcome_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One record, and those of the same review that it took the place of, or that took its own."""
    found = ReviewRecord.objects.with_ratings().select_related(
        "review__patient", "carried_over__plan"
    )
    record = get_object_or_404(found, pk=pk)
    record_read(request.user, record, patient_id=record.review.patient_id)
    others = [other for other in records_of_review(record.review) if other.pk != record.pk]
    holds = not any(other.pk > record.pk for other in others)
    is_injector = Role.INJECTOR in cast(User, request.user).roles
    context = {
        "record": record,
        "review": record.review,
        "patient": record.review.patient,
        "others": others,
        "holds": holds,
        "carried": getattr(record, "carried_over", None),
        "may_write": is_injector,
        "may_carry": is_injector and holds and record.top_up == TopUp.TOP_UP,
        "misses_event": holds and misses_event(record),
        **SCALE,
    }
    return render(request, "outcomes/detail.html", context)


@allow(*CLINICAL)
@require_safe
def outcome_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """How a patient's treatments turned out, as a part of the patient's page."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.outcomes")
    context = {"patient": patient, "records": records_of_patient(patient)}
    return render(request, "outcomes/_for_patient.html", context)


@allow(*CLINICAL)
@require_safe
def outcome_for_review(request: HttpRequest, pk: int) -> HttpResponse:
    """What was written of one review, as a part of its page."""
    review = get_object_or_404(Review.objects.select_related("patient"), pk=pk)
    record_read(request.user, review, patient_id=review.patient_id, action="read.outcomes")
    records = records_of_review(review)
    context = {
        "review": review,
        "record": records[0] if records else None,
        "may_write": Role.INJECTOR in cast(User, request.user).roles
        and review.outcome != ReviewOutcome.EXCUSED,
    }
    return render(request, "outcomes/_for_review.html", context)


@allow(*CLINICAL)
@require_safe
def outcome_for_session(request: HttpRequest, pk: int) -> HttpResponse:
    """How one treatment turned out, as a part of its session's page."""
    session = get_object_or_404(TreatmentSession.objects.standing(), pk=pk)
    record_read(request.user, session, patient_id=session.patient_id, action="read.outcomes")
    context = {
        "session": session,
        "results": results_of_session(session),
        "may_write": Role.INJECTOR in cast(User, request.user).roles,
    }
    return render(request, "outcomes/_for_session.html", context)
