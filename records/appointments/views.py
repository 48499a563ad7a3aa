"""The day list, booking, and what became of an appointment."""

from collections.abc import Mapping
from datetime import date, timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, ReasonMissing, TimeTaken
from records.appointments.forms import AskedFor, BookingForm, CancelForm, DayForm, TakenForm
from records.appointments.models import Appointment
from records.appointments.queries import day_by_practitioner, is_open, taken_times
from records.appointments.services.booking import book
from records.appointments.services.states import set_state
from records.patients.models import Patient
from records.patients.views import choose_patient


@allow(*EVERYONE)
@require_GET
def appointment_list(request: HttpRequest) -> HttpResponse:
    """One day, by practitioner."""
    form = DayForm(request.GET if "day" in request.GET else {})
    day = form.shown_day()
    context = {
        "form": form if form.errors else DayForm(initial={"day": day}),
        "day": day,
        "today": timezone.localdate(),
        "day_before": day - timedelta(days=1),
        "day_after": day + timedelta(days=1),
        "is_open": is_open(day, current_policy()),
        "days": day_by_practitioner(day),
    }
    return render(request, "appointments/list.html", context)


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def appointment_create(request: HttpRequest) -> HttpResponse:
    """Book for the patient the address names; without one, choose the patient first."""
    asked = AskedFor(request.GET)
    asked.is_valid()
    if review := asked.cleaned_data.get("review"):
        return redirect("review-book", pk=review)
    patient = asked.cleaned_data.get("patient")
    if patient is None:
        return choose_patient(
            request,
            page="appointments/choose_patient.html",
            place="booking-results",
            on_enter="book for this patient",
        )
    form = BookingForm(
        request.POST if request.method == "POST" else None,
        patient=patient,
        back=return_path(request, otherwise=reverse("appointment-list")),
        initial={"day": asked.cleaned_data.get("day"), "kind": "consultation", "minutes": 30},
    )
    if request.method == "POST" and form.is_valid():
        try:
            appointment = book(appointment=form.instance, actor=request.user)
        except TimeTaken as refusal:
            form.add_error(None, str(refusal))
        else:
            return booked(request, appointment)
    return booking_page(request, form, patient)


def booked(request: HttpRequest, appointment: Appointment) -> HttpResponse:
    """The answer to a booking that was made."""
    when = timezone.localtime(appointment.starts_at)
    messages.success(request, f"Booked for {when:%A} {when.day} {when:%B %Y} at {when:%H:%M}.")
    return redirect(return_path(request, otherwise=day_address(when.date())))


def booking_page(
    request: HttpRequest, form: BookingForm, patient: Patient, **context
) -> HttpResponse:
    """The booking form, with status 422 when it came back with errors."""
    asked = {name: form[name].value() for name in ("practitioner", "day")}
    context |= {"form": form, "patient": patient, **_taken(asked)}
    status = 422 if form.errors else 200
    return render(request, "appointments/book.html", context, status=status)


@allow(*EVERYONE)
@require_GET
def appointments_taken(request: HttpRequest) -> HttpResponse:
    """A practitioner's day, for the page that books into it."""
    return render(request, "appointments/_taken.html", _taken(request.GET))


def _taken(asked: Mapping) -> dict:
    """Context of appointments/_taken.html; it takes a practitioner and a day to show any."""
    form = TakenForm(asked)
    form.is_valid()
    practitioner, day = form.cleaned_data.get("practitioner"), form.cleaned_data.get("day")
    if practitioner is None or day is None:
        return {"taken": []}
    taken = taken_times(practitioner, day)
    return {"taken_by": practitioner, "taken_on": day, "taken": taken}


def day_address(day: date) -> str:
    return f"{reverse('appointment-list')}?day={day.isoformat()}"


@allow(*EVERYONE)
@require_GET
def for_patient(request, pk):
    """A patient's appointments, for the page of the patient."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="appointments.read")
    appointments = patient.appointments.with_people().order_by("-starts_at", "-id")
    context = {
        "patient": patient,
        "appointments": appointments[:50],
        "back": request.htmx.current_url_abs_path or "",
    }
    return render(request, "appointments/_for_patient.html", context)


@allow(*EVERYONE)
@require_POST
def mark_arrived(request: HttpRequest, pk: int) -> HttpResponse:
    return _mark(request, pk, AppointmentState.ARRIVED)


@allow(*EVERYONE)
@require_POST
def mark_booked(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back an arrival that was marked by mistake."""
    return _mark(request, pk, AppointmentState.BOOKED)


@allow(*EVERYONE)
@require_POST
def mark_done(request: HttpRequest, pk: int) -> HttpResponse:
    return _mark(request, pk, AppointmentState.DONE)


@allow(*EVERYONE)
@require_POST
def mark_absent(request: HttpRequest, pk: int) -> HttpResponse:
    return _mark(request, pk, AppointmentState.DID_NOT_ATTEND)


def _mark(request: HttpRequest, pk: int, state: AppointmentState) -> HttpResponse:
    appointment = get_object_or_404(Appointment, pk=pk)
    try:
        set_state(appointment=appointment, state=state, actor=request.user)
    except (AppointmentClosed, TimeTaken) as refusal:
        messages.error(request, str(refusal))
    return redirect(return_path(request, otherwise=_day_of(appointment)))


def _day_of(appointment: Appointment) -> str:
    return day_address(timezone.localdate(appointment.starts_at))


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    appointment = get_object_or_404(Appointment.objects.with_people(), pk=pk)
    back = return_path(request, otherwise=_day_of(appointment))
    form = CancelForm(request.POST if request.method == "POST" else None, back=back)
    if request.method == "POST" and form.is_valid():
        try:
            set_state(
                appointment=appointment,
                state=AppointmentState.CANCELLED,
                actor=request.user,
                reason=form.cleaned_data["reason"],
            )
        except (AppointmentClosed, ReasonMissing) as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The appointment is cancelled and its time is free.")
            return redirect(back)
    context = {"form": form, "appointment": appointment}
    status = 422 if form.errors else 200
    return render(request, "appointments/cancel.html", context, status=status)
