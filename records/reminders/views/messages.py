"""The desk's page of messages, and what it decides about those that came back."""

from collections.abc import Callable

from django.contrib import messages as notices
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow
from clinic.audit.services import record_read
from clinic.background.queries import worker_silence
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.reminders.errors import ReminderError
from records.reminders.models import Answer, Message
from records.reminders.queries import (
    answers_by_message,
    latest_answers,
    messages_of,
    reach,
    reminder_policy,
    stays_here,
    to_settle,
)
from records.reminders.services.inviting import invite_to_review
from records.reminders.services.settling import (
    give_up,
    note_called,
    send_again,
    settle_answer,
    take_as_sent,
)
from records.reviews.models import Review

MESSAGES_PER_PAGE, OF_A_PATIENT = 40, 20


@allow(*EVERYONE)
@require_GET
def message_list(request: HttpRequest) -> HttpResponse:
    """What the desk has to settle, then every message, the latest due first."""
    page = Paginator(Message.objects.listed(), MESSAGES_PER_PAGE).get_page(request.GET.get("page"))
    policy = reminder_policy()
    context = {
        "settle": to_settle(),
        "page_obj": page,
        "rows": list(answers_by_message(page.object_list)),
        "is_on": policy.is_on,
        "silence": worker_silence() if policy.is_on else None,
        "stays_here": stays_here(),
        "back": request.get_full_path(),
    }
    return render(request, "reminders/list.html", context)


@allow(*EVERYONE)
@require_GET
def for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """A patient's messages, for the page of the patient."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="messages.read")
    latest = patient.contact_consents.select_related("asked_by")
    context = {
        "patient": patient,
        "way": reach(patient),
        "consents": list({row.channel: row for row in reversed(latest)}.values()),
        "rows": list(answers_by_message(messages_of(patient)[:OF_A_PATIENT])),
    }
    return render(request, "reminders/_for_patient.html", context)


@allow(*EVERYONE)
@require_GET
def for_appointment(request: HttpRequest, pk: int) -> HttpResponse:
    """What the patient said about a visit, for the page of the visit."""
    appointment = get_object_or_404(Appointment, pk=pk)
    record_read(
        request.user, appointment, patient_id=appointment.patient_id, action="messages.read"
    )
    answer = latest_answers([appointment]).get(appointment.pk)
    return render(request, "reminders/_answer.html", {"answer": answer})


@allow(*EVERYONE)
@require_GET
def about_appointment(request: HttpRequest, pk: int) -> HttpResponse:
    """The messages about a visit and what was answered to them, for the page of the visit."""
    appointment = get_object_or_404(Appointment, pk=pk)
    record_read(
        request.user, appointment, patient_id=appointment.patient_id, action="messages.read"
    )
    told = Message.objects.filter(appointment=appointment).with_people().order_by("-due_at", "-id")
    rows = list(answers_by_message(told[:OF_A_PATIENT]))
    return render(request, "reminders/_about_appointment.html", {"rows": rows})


@allow(*EVERYONE)
@require_POST
def send_review(request: HttpRequest, pk: int) -> HttpResponse:
    """Invite the patient of a review to book it."""
    review = get_object_or_404(Review, pk=pk)
    try:
        way = invite_to_review(review=review, actor=request.user)
    except ReminderError as refusal:
        notices.error(request, str(refusal))
    else:
        notices.success(request, f"The invitation goes by {way.route.label.lower()}.")
    return redirect(return_path(request, otherwise=reverse("review-list")))


@allow(*EVERYONE)
@require_POST
def called(request: HttpRequest, pk: int) -> HttpResponse:
    return _decide(request, pk, note_called, "Noted: the patient was told.")


@allow(*EVERYONE)
@require_POST
def again(request: HttpRequest, pk: int) -> HttpResponse:
    return _decide(request, pk, send_again, "The message is sent again.")


@allow(*EVERYONE)
@require_POST
def was_sent(request: HttpRequest, pk: int) -> HttpResponse:
    return _decide(request, pk, take_as_sent, "Noted as sent.")


@allow(*EVERYONE)
@require_POST
def given_up(request: HttpRequest, pk: int) -> HttpResponse:
    return _decide(request, pk, give_up, "Given up: nobody tells the patient.")


def _decide(request: HttpRequest, pk: int, act: Callable, done: str) -> HttpResponse:
    message = get_object_or_404(Message, pk=pk)
    try:
        act(message=message, actor=request.user)
    except ReminderError as refusal:
        notices.error(request, str(refusal))
    else:
        notices.success(request, done)
    return redirect(return_path(request, otherwise=reverse("reminder-list")))


@allow(*EVERYONE)
@require_POST
def answer_settled(request: HttpRequest, pk: int) -> HttpResponse:
    """What a patient asked for is dealt with."""
    settle_answer(answer=get_object_or_404(Answer, pk=pk), actor=request.user)
    notices.success(request, "Settled.")
    return redirect(return_path(request, otherwise=reverse("reminder-list")))
