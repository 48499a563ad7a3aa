"""Turning to one patient: the number, large, and a button for what came of it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods

from clinic.access.enums import Role
from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow, reads_clinical
from clinic.audit.services import record_read
from planning.follow_up import TryOutcome, Way
from records.adverse_events.models import AdverseEvent
from records.follow_up.errors import AttemptRefused
from records.follow_up.forms import AttemptForm, RecallAttemptForm
from records.follow_up.services import note_attempt
from records.patients.enums import Channel
from records.patients.models import Patient
from records.recalls.errors import RecallError
from records.recalls.models import CasePatient
from records.recalls.services.people import note_contact
from records.reviews.errors import ReviewClosed
from records.reviews.views.shared import asks_of_closed, closed_page, with_patient

Form = AttemptForm | RecallAttemptForm


@dataclass(frozen=True, slots=True)
class About:
    """
    What a patient is turned to for.

    Attributes:
        template: says what it is about, with `subject`.
        note: writes the try down; takes the cleaned values.
        attempts: those made, the latest first.
        book_url: where their visit is booked; "" where that is not the next thing.
    """

    subject: Any
    patient: Patient
    template: str
    note: Callable[..., Any]
    attempts: Any
    book_url: str = ""


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def review_contact(request: HttpRequest, pk: int) -> HttpResponse:
    """About an open review."""
    review = with_patient(pk)
    if asks_of_closed(request, review):
        return closed_page(request, review, _back(request))
    return _answer(
        request,
        AttemptForm,
        About(
            review,
            review.patient,
            "follow_up/_about_review.html",
            lambda **said: note_attempt(about=review, actor=request.user, **said),
            review.attempts.select_related("by").order_by("-id"),
            reverse("review-book", args=[pk]),
        ),
    )


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def event_contact(request: HttpRequest, pk: int) -> HttpResponse:
    """After an adverse event; who does not read clinical detail is told to ask the injector."""
    events = AdverseEvent.objects.select_related("patient", "session__injector", "recorded_by")
    event = get_object_or_404(events, pk=pk)
    return _answer(
        request,
        AttemptForm,
        About(
            event,
            event.patient,
            "follow_up/_about_event.html",
            lambda **said: note_attempt(about=event, actor=request.user, **said),
            event.attempts.select_related("by").order_by("-id"),
            f"{reverse('appointment-create')}?{urlencode({'patient': event.patient_id})}",
        ),
    )


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def recall_contact(request: HttpRequest, pk: int) -> HttpResponse:
    """In an open recall; what came of it stands in the recall's own books."""
    people = CasePatient.objects.select_related("case", "patient").filter(case__is_drill=False)
    person = get_object_or_404(people, pk=pk)

    def note(way: Way, **said) -> None:
        note_contact(person=person, channel=Channel(way.value), actor=request.user, **said)

    return _answer(
        request,
        RecallAttemptForm,
        About(
            person,
            person.patient,
            "follow_up/_about_recall.html",
            note,
            person.contacts.select_related("by").order_by("-id"),
        ),
    )


def _back(request: HttpRequest) -> str:
    return return_path(request, otherwise=reverse("follow-up"))


def _answer(request: HttpRequest, form_class: type[Form], about: About) -> HttpResponse:
    """The page, or what follows on a button."""
    form = form_class(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            about.note(**form.cleaned_data)
        except AttemptRefused as refusal:
            form.add_error(refusal.field, str(refusal))
        except (RecallError, ReviewClosed) as refusal:
            form.add_error(None, str(refusal))
        else:
            return _noted(request, form, about)
    elif request.method == "GET":
        record_read(request.user, about.patient, patient_id=about.patient.pk, action="contact.read")
    return _page(request, form, about)


def _noted(request: HttpRequest, form: Form, about: About) -> HttpResponse:
    outcome, way = form.cleaned_data["outcome"], form.cleaned_data["way"]
    words = outcome.words(way) if isinstance(outcome, TryOutcome) else outcome.label
    messages.success(request, f"Noted for {about.patient.record_number}: {words.lower()}.")
    back = _back(request)
    if about.book_url and outcome == TryOutcome.REACHED and request.GET.get("then") == "book":
        joined = "&" if "?" in about.book_url else "?"
        return redirect(f"{about.book_url}{joined}{urlencode({'next': back})}")
    return redirect(back)


def _page(request: HttpRequest, form: Form, about: About) -> HttpResponse:
    way = _way(request, about.patient)
    context = {
        "about": about,
        "patient": about.patient,
        "form": form,
        "way": way,
        "ways": list(Way),
        "offered": form.offered(way),
        "contact": _detail(about.patient, way),
        "clinical": reads_clinical(request.user),
        "is_owner": Role.OWNER in request.user.roles,  # type: ignore[union-attr]
        "back": _back(request),
    }
    status = 422 if form.errors else 200
    return render(request, "follow_up/contact.html", context, status=status)


def _way(request: HttpRequest, patient: Patient) -> Way:
    """The way that is asked for, else the one the patient prefers."""
    asked = request.POST.get("way") or request.GET.get("by")
    known = {way.value: way for way in Way}
    return known.get(asked or "", Way(patient.preferred_channel))


def _detail(patient: Patient, way: Way) -> str:
    return {Way.EMAIL: patient.email, Way.LETTER: patient.address}.get(way, patient.phone)
