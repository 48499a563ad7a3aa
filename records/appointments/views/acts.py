"""One appointment, and what became of it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow
from clinic.audit.services import record_read
from clinic.sites.models import Site
from records.appointments import hooks
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, ReasonMissing, TimeTaken
from records.appointments.forms.acts import CancelForm, LateForm
from records.appointments.models import Appointment
from records.appointments.queries.history import history_of
from records.appointments.services.series import cancel_following, following
from records.appointments.services.states import note_late, set_state
from records.appointments.views.booking import day_address
from records.patients.models import Patient

# Said after a press that may be a slip: the visit is no longer where it was pressed.
SAID_WITH_WAY_BACK = (
    AppointmentState.ARRIVED,
    AppointmentState.IN_ROOM,
    AppointmentState.DONE,
    AppointmentState.DID_NOT_ATTEND,
)


@allow(*EVERYONE)
@require_GET
def appointment_list(request: HttpRequest) -> HttpResponse:
    """The diary, which took the day list's place; the day that was asked for is kept."""
    query = request.GET.urlencode()
    return redirect(f"{reverse('diary')}?{query}" if query else "diary")


@allow(*EVERYONE)
@require_GET
def appointment_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One appointment, what can be done with it, and its history."""
    appointment = get_object_or_404(Appointment.objects.with_people().with_site(), pk=pk)
    record_read(
        request.user, appointment, patient_id=appointment.patient_id, action="appointment.read"
    )
    context = {
        "appointment": appointment,
        "history": history_of(appointment),
        "following": following(appointment),
        "has_sites": Site.objects.has_several(),
        "back": return_path(request, otherwise=_day_of(appointment)),
    }
    return render(request, "appointments/detail.html", context)


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
def mark_in_room(request: HttpRequest, pk: int) -> HttpResponse:
    return _mark(request, pk, AppointmentState.IN_ROOM)


@allow(*EVERYONE)
@require_POST
def mark_booked(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back an arrival that was marked by mistake."""
    return _mark(request, pk, AppointmentState.BOOKED)


@allow(*EVERYONE)
@require_POST
def mark_done(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that the visit took place; of a treatment without a session it is asked once."""
    appointment = get_object_or_404(Appointment.objects.with_people(), pk=pk)
    if appointment.misses_session and not request.POST.get("confirmed"):
        back = return_path(request, otherwise=_day_of(appointment))
        context = {"appointment": appointment, "back": back}
        return render(request, "appointments/done.html", context, status=422)
    return _mark(request, pk, AppointmentState.DONE)


@allow(*EVERYONE)
@require_POST
def mark_not_done(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a "done" of the day that was a slip."""
    return _mark(request, pk, AppointmentState.ARRIVED, undoing=True)


@allow(*EVERYONE)
@require_POST
def mark_not_cancelled(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a cancelling of today, as long as the time is free."""
    return _mark(request, pk, AppointmentState.BOOKED, undoing=True)


@allow(*EVERYONE)
@require_POST
def mark_absent(request: HttpRequest, pk: int) -> HttpResponse:
    return _mark(request, pk, AppointmentState.DID_NOT_ATTEND)


@allow(*EVERYONE)
@require_POST
def mark_late(request: HttpRequest, pk: int) -> HttpResponse:
    """Note by how much the patient comes late; 0 takes it back."""
    appointment = get_object_or_404(Appointment, pk=pk)
    form = LateForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Choose by how many minutes the patient comes late.")
    else:
        try:
            note_late(
                appointment=appointment, minutes=form.cleaned_data["minutes"], actor=request.user
            )
        except AppointmentClosed as refusal:
            messages.error(request, str(refusal))
    return redirect(return_path(request, otherwise=_day_of(appointment)))


def _mark(
    request: HttpRequest, pk: int, state: AppointmentState, *, undoing: bool = False
) -> HttpResponse:
    appointment = get_object_or_404(Appointment, pk=pk)
    try:
        set_state(appointment=appointment, state=state, actor=request.user, undoing=undoing)
    except (AppointmentClosed, TimeTaken) as refusal:
        messages.error(request, str(refusal))
    else:
        if state in SAID_WITH_WAY_BACK:
            _tell_way_back(request, appointment)
        if not state.takes_place:
            hooks.tell(request, appointment)
    return redirect(return_path(request, otherwise=_day_of(appointment)))


def _tell_way_back(request: HttpRequest, appointment: Appointment) -> None:
    """What changes its place in the lists of the day does not do so without a word."""
    marked = Appointment.objects.with_people().get(pk=appointment.pk)
    context = {"appointment": marked, "back": return_path(request, otherwise=_day_of(marked))}
    messages.success(request, render_to_string("appointments/_marked.html", context, request))


def _day_of(appointment: Appointment) -> str:
    return day_address(timezone.localdate(appointment.starts_at))


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Cancel an appointment, and the later ones of its series if asked."""
    appointment = get_object_or_404(Appointment.objects.with_people(), pk=pk)
    back = return_path(request, otherwise=_day_of(appointment))
    later = following(appointment)
    form = CancelForm(
        request.POST if request.method == "POST" else None, back=back, following=len(later)
    )
    if request.method == "POST" and form.is_valid():
        try:
            _cancel(appointment, form, request.user)
        except (AppointmentClosed, ReasonMissing) as refusal:
            form.add_error(None, str(refusal))
        else:
            _tell_way_back(request, appointment)
            hooks.tell(request, appointment)
            return redirect(back)
    context = {"form": form, "appointment": appointment, "following": later}
    status = 422 if form.errors else 200
    return render(request, "appointments/cancel.html", context, status=status)


def _cancel(appointment: Appointment, form: CancelForm, actor) -> None:
    reason = form.cleaned_data["reason"]
    if form.cleaned_data["following"]:
        cancel_following(appointment=appointment, reason=reason, actor=actor)
        return
    set_state(appointment=appointment, state=AppointmentState.CANCELLED, actor=actor, reason=reason)
