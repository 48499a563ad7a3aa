"""Booking: its form."""

from collections.abc import Mapping
from datetime import date
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow
from clinic.visit_kinds.models import STEP_MINUTES
from planning.review_dates import day_in_words
from records.appointments.errors import AlreadySettled, TimeTaken
from records.appointments.forms.booking import AskedFor, BookingForm, TimesForm
from records.appointments.forms.times import OWN_TIME
from records.appointments.models import Appointment
from records.appointments.queries.slots import room_that_suits
from records.appointments.services.booking import book
from records.appointments.services.series import SeriesTaken, book_series, walk_in
from records.appointments.services.settling import book_settling
from records.appointments.settling import open_matters
from records.appointments.views.times import note_read, times_context
from records.appointments.words import when, who
from records.patients.models import Patient
from records.patients.views import choose_patient


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
            walk_in=asked.cleaned_data.get("walk_in"),
            when=_asked_time(asked.cleaned_data),
        )
    is_here = bool(asked.cleaned_data.get("walk_in"))
    initial = asked.starting_values(request.user)
    form = BookingForm(
        request.POST if request.method == "POST" else None,
        patient=patient,
        back=return_path(request, otherwise=""),
        repeats=not is_here,
        is_here=is_here,
        matters=open_matters(patient),
        initial=_now(initial) if is_here else initial,
    )
    lost: TimeTaken | None = None
    if request.method == "POST" and form.is_valid():
        try:
            appointment = book_settling(
                matters=form.settled,
                book=partial(_book, form, request.user, is_here=is_here),
                actor=request.user,
            )
        except TimeTaken as refusal:
            lost = refusal
            form.add_error(None, str(refusal))
        except AlreadySettled as refusal:
            form.add_error(None, str(refusal))
        else:
            return booked(request, appointment)
    return booking_page(request, form, patient, lost=lost, is_here=is_here)


def _asked_time(given: Mapping[str, Any]) -> str:
    """ "Tuesday 8 December 2026, 10:15", where the address names a day; else ""."""
    day, start = given.get("day"), given.get("start")
    if day is None:
        return ""
    return f"{day_in_words(day)}, {start:%H:%M}" if start else day_in_words(day)


def _now(initial: dict) -> dict:
    """A walk-in starts with the five minutes that have begun."""
    now = timezone.localtime()
    start = now.replace(minute=now.minute // STEP_MINUTES * STEP_MINUTES, second=0, microsecond=0)
    return initial | {"day": start.date(), "start": start.time(), "slot": OWN_TIME}


def _book(form: BookingForm, actor, *, is_here: bool) -> Appointment:
    if is_here:
        return walk_in(appointment=form.instance, actor=actor)
    if form.repeat.count == 1:
        return book(appointment=form.instance, actor=actor)
    return book_series(appointments=_series(form), actor=actor)[0]


def _series(form: BookingForm) -> list[Appointment]:
    """The appointments of a series, each in a room that suits and is free then."""
    later = form.later()
    for one in later:
        if one.room is not None:
            one.room = room_that_suits(one, form.visit_kind) or one.room
    return [form.instance, *later]


def booked(request: HttpRequest, appointment: Appointment) -> HttpResponse:
    """The answer to a booking that was made."""
    where = f", {appointment.room.site}, {appointment.room}" if appointment.room else ""
    series = Appointment.objects.filter(series=appointment.series) if appointment.series else None
    also = ""
    if series is not None:
        later = [timezone.localtime(one.starts_at) for one in series.exclude(pk=appointment.pk)]
        also = f", and {', '.join(f'{one:%-d %B}' for one in later)}"
    messages.success(
        request,
        f"{who(appointment.patient)} is booked for {when(appointment)} with "
        f"{appointment.practitioner}{where}{also}.",
    )
    return redirect(
        return_path(request, otherwise=day_address(timezone.localdate(appointment.starts_at)))
    )


def booking_page(
    request: HttpRequest,
    form: BookingForm,
    patient: Patient,
    *,
    lost: TimeTaken | None = None,
    first_choice=None,
    window: tuple[date, date] | None = None,
    target: date | None = None,
    **context: Any,
) -> HttpResponse:
    """
    The booking form, with status 422 when it came back with errors.

    Args:
        lost: why the chosen time was refused; the nearest ones that are free are shown then.
        first_choice: the practitioner whose times come first.
        window, target: the days between which the visit is wanted, and the one it is due on.
    """
    note_read(request, patient)
    if window and window[1] < timezone.localdate():
        window = None
    look_from = window[0] if window else form.look_from
    asked = TimesForm(
        {
            "patient": patient.pk,
            "kind": form["kind"].value(),
            "practitioner": form["practitioner"].value(),
            "minutes": form["minutes"].value(),
            "first_choice": first_choice.pk if first_choice else "",
            "look_from": look_from,
            "look_until": window[1] if window else "",
            "target": target,
        }
    )
    near = form.instance.starts_at if lost else None
    context |= {"form": form, "patient": patient, "window": window, "first_choice": first_choice}
    context["target"] = target
    context |= times_context(
        asked, reader=request.user, chosen=form["slot"].value() or "", near=near
    )
    if isinstance(lost, SeriesTaken):
        context["series_taken"] = list(lost.taken.values())
    status = 422 if form.errors else 200
    return render(request, "appointments/book.html", context, status=status)


def day_address(day: date) -> str:
    return f"{reverse('diary')}?day={day.isoformat()}"
