"""The tablet in the patient's hands: one page of questions, and the rest of the clinic closed."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from clinic.tablets.handing_over import close_page, hand_over, is_handed_over
from records.outcomes.errors import OutcomeError
from records.outcomes.forms.reviewing import PatientForm
from records.outcomes.queries.reviews import treated_regions
from records.outcomes.services.handing import hand_over_review, keep_answers
from records.outcomes.views.records import excused_page, review_form
from records.reviews.enums import ReviewOutcome
from records.reviews.models import Review


@allow(Role.INJECTOR)
@require_POST
def outcome_hand_over(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep what was typed so far, and show the patient's page and nothing else."""
    review = get_object_or_404(Review.objects.select_related("session"), pk=pk)
    form = review_form(request, review)
    hand_over_review(review=review, typed=form.typed, actor=request.user)
    if review.outcome == ReviewOutcome.EXCUSED:
        return excused_page(request, review)
    page = reverse("outcome-answer", args=[pk])
    own = f"{reverse('outcome-create', args=[pk])}?{urlencode({'next': form.back})}"
    hand_over(request, page=page, back=own)
    return redirect(page)


@allow(Role.INJECTOR)
@require_http_methods(["GET", "HEAD", "POST"])
def outcome_answer(request: HttpRequest, pk: int) -> HttpResponse:
    """The questions on a tablet that was handed over; it names nobody."""
    review = get_object_or_404(Review.objects.select_related("session"), pk=pk)
    if not is_handed_over(request):
        return redirect("outcome-create", pk)
    form = PatientForm(
        request.POST if request.method == "POST" else None,
        regions=treated_regions(review.session),
    )
    if request.method == "POST" and form.is_valid():
        try:
            keep_answers(
                review=review,
                key=form.sent_key,
                grades=form.grades,
                satisfaction=form.cleaned_data["satisfaction"],
                actor=request.user,
            )
        except OutcomeError as error:
            form.add_error(None, str(error))
        else:
            close_page(request)
            return redirect("tablet-take-back")
    record_read(request.user, review, patient_id=review.patient_id)
    treated = timezone.localdate(review.session.started_at)
    context = {"form": form, "treated": treated, "clinic": current_policy()}
    return render(request, "outcomes/answer.html", context, status=422 if form.errors else 200)
