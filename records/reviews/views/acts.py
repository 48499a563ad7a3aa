"""Acts on a review: book, done, excuse, open again."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow, reads_clinical
from clinic.visit_kinds.enums import AppointmentKind
from records.appointments.errors import TimeTaken
from records.appointments.forms.booking import BookingForm
from records.appointments.views.booking import booked, booking_page
from records.reviews.enums import ReviewKind
from records.reviews.errors import ReasonMissing, ReviewBooked, ReviewClosed, ReviewOpen
from records.reviews.forms import ExcuseForm, ReopenForm
from records.reviews.models import Review
from records.reviews.queries.for_booking import is_complication_check
from records.reviews.queries.work_list import seen_since_treatment
from records.reviews.services.acts import book_review, excuse, mark_done, reopen
from records.reviews.views.shared import asks_of_closed, closed_page, with_patient


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def review_book(request: HttpRequest, pk: int) -> HttpResponse:
    """Book the appointment at which an open review takes place."""
    review = with_patient(pk)
    back = return_path(request, otherwise=reverse("follow-up"))
    if asks_of_closed(request, review):
        return closed_page(request, review, back)
    is_check = reads_clinical(request.user) and is_complication_check(review)
    form = BookingForm(
        request.POST if request.method == "POST" else None,
        patient=review.patient,
        back=back,
        initial=_booking_proposal(review, is_check=is_check),
    )
    lost: TimeTaken | None = None
    if request.method == "POST" and form.is_valid():
        try:
            appointment = book_review(review=review, appointment=form.instance, actor=request.user)
        except (TimeTaken, ReviewBooked, ReviewClosed) as refusal:
            lost = refusal if isinstance(refusal, TimeTaken) else None
            form.add_error(None, str(refusal))
        else:
            return booked(request, appointment)
    return booking_page(
        request,
        form,
        review.patient,
        lost=lost,
        first_choice=_treated_by(review),
        window=(review.earliest_on, review.latest_on),
        target=review.due_on,
        review=review,
        is_check=is_check,
    )


def _booking_proposal(review: Review, *, is_check: bool) -> dict:
    """The due day, or today once it has passed, for what the review is."""
    day = max(review.due_on, timezone.localdate())
    kind = AppointmentKind.COMPLICATION_CHECK if is_check else ReviewKind(review.kind)
    return {"kind": kind.value, "day": day}


def _treated_by(review: Review):
    """Whoever treated the patient, if they still see patients."""
    injector = review.session.injector
    return injector if injector.is_injector and injector.is_active else None


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def review_done(request: HttpRequest, pk: int) -> HttpResponse:
    """Close a review that took place; it asks once where no visit is on record."""
    review = with_patient(pk)
    back = return_path(request, otherwise=reverse("follow-up"))
    if asks_of_closed(request, review):
        return closed_page(request, review, back)
    seen = seen_since_treatment(review)
    if request.method == "GET":
        context = {"review": review, "seen": seen, "back": back}
        return render(request, "reviews/done.html", context)
    if not (seen or review.closed_at or request.POST.get("confirmed")):
        return redirect(f"{request.path}?{urlencode({'next': back})}")
    try:
        mark_done(review=review, actor=request.user)
    except ReviewClosed as refusal:
        messages.error(request, str(refusal))
    else:
        _say_closed(request, review, "done", back)
    return redirect(back)


def _say_closed(request: HttpRequest, review: Review, how: str, back: str) -> None:
    """The message, with the button that takes it back; the number only, for it may stay in view."""
    review.refresh_from_db(fields=["outcome"])
    context = {"review": review, "how": how, "back": back}
    messages.success(request, render_to_string("reviews/_closed.html", context, request))


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def review_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a closing; from the next day on it asks why."""
    review = with_patient(pk)
    back = return_path(request, otherwise=reverse("follow-up"))
    form = ReopenForm(request.POST if request.method == "POST" else None, review=review, back=back)
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data.get("reason", "")
        try:
            reopen(review=review, reason=reason, actor=request.user)
        except (ReviewOpen, ReasonMissing) as refusal:
            form.add_error(None, str(refusal))
        else:
            number = review.patient.record_number
            messages.success(request, f"The review of {number} is open again.")
            return redirect(back)
    context = {"form": form, "review": review}
    status = 422 if form.errors else 200
    return render(request, "reviews/reopen.html", context, status=status)


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def review_excuse(request: HttpRequest, pk: int) -> HttpResponse:
    """Close a review that will not take place; it asks why."""
    review = with_patient(pk)
    back = return_path(request, otherwise=reverse("follow-up"))
    if asks_of_closed(request, review):
        return closed_page(request, review, back)
    form = ExcuseForm(request.POST if request.method == "POST" else None, back=back)
    if request.method == "POST" and form.is_valid():
        try:
            excuse(review=review, reason=form.cleaned_data["reason"], actor=request.user)
        except (ReviewClosed, ReasonMissing) as refusal:
            form.add_error(None, str(refusal))
        else:
            _say_closed(request, review, "excused", back)
            return redirect(back)
    context = {"form": form, "review": review}
    status = 422 if form.errors else 200
    return render(request, "reviews/excuse.html", context, status=status)
