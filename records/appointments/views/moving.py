"""Moving an appointment, by its form or by dragging it in the diary."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow
from clinic.sites.models import Site
from records.appointments import hooks
from records.appointments.errors import AppointmentClosed, AppointmentMoved, TimeTaken
from records.appointments.forms.moving import MoveForm
from records.appointments.forms.times import OWN_TIME
from records.appointments.models import Appointment
from records.appointments.queries.slots import FURTHEST_DAYS, Fit, Wanted, nearest, next_days
from records.appointments.services.moving import move
from records.appointments.views.booking import day_address

REFUSED, INVALID = 409, 422


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def appointment_move(request: HttpRequest, pk: int) -> HttpResponse:
    """
    Move an appointment. The diary sends the same fields by itself and is answered with 204, with
    409 and the nearest free times, or with 422 and what is to be confirmed or put right.
    """
    appointment = get_object_or_404(Appointment.objects.with_people(), pk=pk)
    back = return_path(request, otherwise=day_address(timezone.localdate(appointment.starts_at)))
    form = MoveForm(
        request.POST if request.method == "POST" else None, instance=appointment, back=back
    )
    status, alternatives = 200, []
    if request.method == "POST" and form.is_valid():
        try:
            moved = move(
                appointment=appointment,
                to=form.to,
                actor=request.user,
                seen_at=form.cleaned_data["seen"],
                reason=form.cleaned_data["reason"],
            )
        except (TimeTaken, AppointmentClosed, AppointmentMoved) as refusal:
            form.add_error(None, str(refusal))
            status = REFUSED
            if isinstance(refusal, TimeTaken):
                alternatives = _alternatives(form)
        else:
            return _moved(request, moved, back)
    elif request.method == "POST":
        status = INVALID
    context = {"form": form, "appointment": appointment, "alternatives": alternatives}
    return _answer(request, form, context, status)


def _moved(request: HttpRequest, appointment: Appointment, back: str) -> HttpResponse:
    hooks.tell(request, appointment)
    if "HX-Request" in request.headers:
        return HttpResponse(status=204)
    when = timezone.localtime(appointment.starts_at)
    messages.success(
        request,
        f"Moved to {when:%A} {when.day} {when:%B %Y} at {when:%H:%M} with "
        f"{appointment.practitioner}.",
    )
    return redirect(back)


def _answer(
    request: HttpRequest, form: MoveForm, context: dict[str, Any], status: int
) -> HttpResponse:
    if "HX-Request" in request.headers:
        return render(request, "appointments/_move_refused.html", context, status=status)
    wanted = _wanted(form)
    day = timezone.localdate(form.stored.starts_at)
    context |= {
        "target": day,
        "suggested": _others(form, form.stored.starts_at),
        "days": next_days(replace(wanted, first=max(wanted.first, day)), days=3),
        "many_sites": Site.objects.in_use().count() > 1,
        "chosen": form["slot"].value() or OWN_TIME,
        "own": OWN_TIME,
        "wanted": wanted,
    }
    # A refused form is shown, and 409 is for the diary alone.
    status = INVALID if status == REFUSED else status
    return render(request, "appointments/move.html", context, status=status)


def _wanted(form: MoveForm) -> Wanted:
    today = timezone.localdate()
    stored = form.stored
    return Wanted(
        kind=form.visit_kind,
        first=today,
        last=max(today, timezone.localdate(stored.starts_at)) + timedelta(days=FURTHEST_DAYS),
        minutes=stored.minutes,
        patient=stored.patient,
        first_choice=stored.practitioner,
        moving=stored,
    )


def _alternatives(form: MoveForm) -> list[Fit]:
    """The nearest free times to the one that was wanted."""
    return _others(form, form.instance.starts_at)


def _others(form: MoveForm, near: datetime, limit: int = 4) -> list[Fit]:
    """The free times nearest to a moment, without the one that it has."""
    fits = nearest(_wanted(form), near, limit)
    return [fit for fit in fits if fit.starts_at != form.stored.starts_at][: limit - 1]
