"""Moving an appointment, by its form or by dragging it in the diary."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow
from records.appointments import hooks
from records.appointments.errors import AppointmentClosed, AppointmentMoved, TimeTaken
from records.appointments.forms.booking import TimesForm
from records.appointments.forms.moving import MoveForm
from records.appointments.forms.times import OWN_TIME
from records.appointments.models import Appointment
from records.appointments.queries.slots import FURTHEST_DAYS, Fit, Wanted, nearest
from records.appointments.services.moving import move
from records.appointments.views.booking import day_address
from records.appointments.views.times import times_context
from records.appointments.words import moved_in_words

REFUSED, INVALID = 409, 422


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def appointment_move(request: HttpRequest, pk: int) -> HttpResponse:
    """
    Move an appointment. The diary sends the same fields by itself and is answered with 204, with
    409 and the nearest free times, or with 422 and what is to be confirmed or put right.
    """
    appointment = _find(pk)
    back = return_path(request, otherwise=day_address(timezone.localdate(appointment.starts_at)))
    form = MoveForm(
        request.POST if request.method == "POST" else None, instance=appointment, back=back
    )
    status, lost = 200, False
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
            if isinstance(refusal, AppointmentMoved) and "HX-Request" not in request.headers:
                return _page_again(request, form, refusal)
            form.add_error(None, str(refusal))
            status = REFUSED
            lost = isinstance(refusal, TimeTaken)
        else:
            return _moved(request, moved, back, before=appointment)
    elif request.method == "POST":
        status = INVALID
    context = {"form": form, "appointment": appointment}
    if "HX-Request" in request.headers:
        context["alternatives"] = _alternatives(form) if lost else []
        return render(request, "appointments/_move_refused.html", context, status=status)
    # A refused form is shown, and 409 is for the diary alone.
    status = INVALID if status == REFUSED else status
    context |= _times_of(request, form, lost=lost)
    return render(request, "appointments/move.html", context, status=status)


def _moved(
    request: HttpRequest, appointment: Appointment, back: str, *, before: Appointment
) -> HttpResponse:
    hooks.tell(request, appointment)
    if "HX-Request" in request.headers:
        return HttpResponse(status=204)
    messages.success(request, moved_in_words(before, appointment))
    return redirect(back)


def _page_again(request: HttpRequest, behind: MoveForm, refusal: AppointmentMoved) -> HttpResponse:
    """The page from where the visit is now; only why it is moved is kept."""
    appointment = _find(behind.stored.pk)
    initial = {"reason": behind.cleaned_data["reason"]}
    form = MoveForm(instance=appointment, back=behind.back, initial=initial)
    messages.error(request, f"{refusal} Choose its time again.")
    context = {"form": form, "appointment": appointment, **_times_of(request, form, lost=False)}
    return render(request, "appointments/move.html", context, status=INVALID)


def _find(pk: int) -> Appointment:
    return get_object_or_404(Appointment.objects.with_people().with_site(), pk=pk)


def _times_of(request: HttpRequest, form: MoveForm, *, lost: bool) -> Mapping[str, Any]:
    """The times for whom and how long the form has now, from its present day on."""
    stored = form.stored
    asked = TimesForm(
        {
            "patient": stored.patient_id,
            "moving": stored.pk,
            "practitioner": form["practitioner"].value(),
            "minutes": form["minutes"].value(),
            "look_from": timezone.localdate(stored.starts_at),
        }
    )
    near = form.instance.starts_at if lost else None
    chosen = form["slot"].value() or OWN_TIME
    times = times_context(asked, reader=request.user, chosen=chosen, near=near)
    return {"patient": stored.patient, **times}


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
    """The nearest free times to the one that was wanted, without the one that it has."""
    fits = nearest(_wanted(form), form.instance.starts_at, 4)
    return [fit for fit in fits if fit.starts_at != form.stored.starts_at][:3]
