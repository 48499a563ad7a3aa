"""Finding, starting and reading sessions."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.return_path import return_path
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.emergency_kit.queries import kit_problems
from clinic.policy.queries import current_policy
from planning.ages import age_years
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.sessions.errors import SessionError
from records.sessions.forms.signing import AddendumForm
from records.sessions.forms.sittings import StartForm
from records.sessions.models import TreatmentSession
from records.sessions.queries.content import content_of
from records.sessions.queries.lists import signed_sessions, unsigned_sessions
from records.sessions.services.sittings import set_aside_session, start_session
from records.sessions.views.charting import (
    find_session,
    own_session,
    page_context,
)

PER_PAGE = 40


@allow(*CLINICAL)
@require_GET
def session_list(request: HttpRequest) -> HttpResponse:
    """Those still to be signed, then the signed ones, newest first."""
    pages = Paginator(signed_sessions(), PER_PAGE)
    context = {
        "unsigned": unsigned_sessions(),
        "page_obj": pages.get_page(request.GET.get("page")),
    }
    return render(request, "sessions/list.html", context)


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def session_start(request: HttpRequest, pk: int) -> HttpResponse:
    """Start a session for a patient, or go on with the one that is not signed yet."""
    patient = get_object_or_404(Patient, pk=pk)
    appointment = _appointment(request, patient)
    unsigned = patient.sessions.unsigned().filter(injector=request.user).first()
    if unsigned:
        return redirect(charting_address(unsigned))
    form = StartForm(request.POST or None, patient=patient)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            session = start_session(
                patient=patient,
                injector=request.user,
                appointment=appointment,
                started_at=data["started_at"],
                late_reason=data["late_reason"],
                jaw=data["jaw"],
                decisions=data["decisions"],
            )
        except SessionError as error:
            form.add_error(None, str(error))
        else:
            return redirect(charting_address(session))
    context = {
        "patient": patient,
        "age": age_years(patient.birth_date, timezone.localdate()),
        "alerts": list(patient.alerts.current()),
        "appointment": appointment,
        "form": form,
        "kit": kit_problems(current_policy(), timezone.localdate()),
        "back": return_path(request, otherwise=_page_before(patient, appointment)),
    }
    return render(request, "sessions/start.html", context, status=422 if form.errors else 200)


def _page_before(patient: Patient, appointment: Appointment | None) -> str:
    if appointment is not None:
        return reverse("appointment-detail", args=[appointment.pk])
    return reverse("patient-detail", args=[patient.pk])


def _appointment(request: HttpRequest, patient: Patient) -> Appointment | None:
    text = request.GET.get("appointment", "")
    if not text:
        return None
    pk = int(text) if text.isdecimal() and len(text) < 19 else 0
    return get_object_or_404(Appointment, pk=pk, patient=patient)


@allow(*CLINICAL)
@require_GET
def session_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """The record of a session; one's own unsigned one is charted on its own screen."""
    session = find_session(pk)
    if session.injector_id == request.user.pk and session.is_open:
        return redirect(charting_address(session))
    record_read(request.user, session, patient_id=session.patient_id)
    context = page_context(session)
    if session.is_signed:
        return render(request, "sessions/signed.html", context | signed_context(session))
    return render(request, "sessions/chart.html", context)


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def session_set_aside(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask once, then set an empty session aside as started by mistake."""
    session = own_session(request, pk)
    if request.method == "GET":
        if not session.is_open:
            return redirect("session-detail", pk)
        record_read(request.user, session, patient_id=session.patient_id)
        context = {"session": session, "patient": session.patient, "held": content_of(session)}
        return render(request, "sessions/set_aside.html", context)
    try:
        set_aside_session(session=session, actor=request.user)
    except SessionError as error:
        messages.error(request, str(error))
        return redirect("session-set-aside", pk)
    messages.success(request, "Set aside: it was started by mistake.")
    return redirect("session-list")


def charting_address(session: TreatmentSession) -> str:
    """Behind the "#", so that no server and no log ever hears which session it is."""
    return f"{reverse('charting')}#{session.key}"


def signed_context(session: TreatmentSession, form: AddendumForm | None = None) -> dict:
    return {
        "addenda": session.addenda.select_related("author", "point"),
        "addendum_form": form or AddendumForm(session=session),
        "note_url": reverse("note-pdf", args=[session.pk]),
    }
