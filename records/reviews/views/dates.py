"""The dates of a review: how they came about, moving them, reckoning all open ones anew."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.return_path import return_path
from clinic.access.rules import CLINICAL, EVERYONE, allow
from clinic.audit.services import record_read
from planning.review_dates import ReviewDateError, day_in_words
from records.reviews.errors import DayRefused, ReasonMissing, ReviewBooked, ReviewClosed
from records.reviews.forms import MoveForm
from records.reviews.queries.dates import dates_of, stretched_from
from records.reviews.queries.work_list import patient_review
from records.reviews.services.moving import move_review
from records.reviews.services.recomputing import recompute
from records.reviews.views.shared import asks_of_closed, closed_page, with_patient

SHOWN_CHANGES = 100


@allow(*EVERYONE)
@require_GET
def review_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One review: where it stands, and how its dates came about."""
    review = with_patient(pk)
    record_read(request.user, review, patient_id=review.patient_id)
    # Why a session was added to and what an event was are about the treatment.
    sees_clinical = bool(set(request.user.roles) & set(CLINICAL))  # type: ignore[union-attr]
    events = review.asks.filter(event__isnull=False).values_list("event_id", flat=True)
    context = {
        "review": review,
        "row": patient_review(review, on=timezone.localdate()),
        "dates": dates_of(review),
        "sees_clinical": sees_clinical,
        "event": events.first() if sees_clinical else None,
        "back": return_path(request, otherwise=reverse("follow-up")),
    }
    return render(request, "reviews/detail.html", context)


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def review_move(request: HttpRequest, pk: int) -> HttpResponse:
    """Move an open review to another day; it asks why."""
    review = with_patient(pk)
    back = return_path(request, otherwise=reverse("review-detail", args=[pk]))
    if asks_of_closed(request, review):
        return closed_page(request, review, back)
    form = MoveForm(request.POST if request.method == "POST" else None, back=back)
    if request.method == "POST" and form.is_valid():
        try:
            move_review(review=review, actor=request.user, **form.cleaned_data)
        except DayRefused as refusal:
            form.add_error("due_on", str(refusal))
        except (ReasonMissing, ReviewBooked, ReviewClosed) as refusal:
            form.add_error(None, str(refusal))
        else:
            number, day = review.patient.record_number, form.cleaned_data["due_on"]
            messages.success(request, f"The review of {number} is due on {day_in_words(day)}.")
            return redirect(back)
    context = {"form": form, "review": review, "by_rule": stretched_from(review)}
    return render(request, "reviews/move.html", context, status=422 if form.errors else 200)


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def review_recompute(request: HttpRequest) -> HttpResponse:
    """What reckoning all open reviews anew would change, and doing it."""
    if request.method == "POST":
        try:
            changes = recompute(actor=request.user)
        except ReviewDateError as error:
            messages.error(request, str(error))
        else:
            moved = sum(change.moves for change in changes)
            messages.success(request, f"Reckoned anew. Reviews changed: {moved:,}.")
        return redirect("review-recompute")
    try:
        changes, problem = recompute(actor=request.user, dry_run=True), ""
    except ReviewDateError as error:
        changes, problem = [], str(error)
    # One that no rule asks for any more keeps its days, but somebody has to look at it.
    shown = [change for change in changes if change.moves or change.visit is None]
    context = {
        "changes": shown[:SHOWN_CHANGES],
        "total": len(shown),
        "moved": sum(change.moves for change in shown),
        "renamed": len(changes) - len(shown),
        "problem": problem,
    }
    return render(request, "reviews/recompute.html", context)
