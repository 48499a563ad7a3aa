"""Finding, starting and charting sessions."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from planning.ages import age_years
from planning.atlas.cautions import LEVEL_BASIS, cautions_for, level_of
from planning.atlas.regions import Region
from planning.vocabulary import Side
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.sessions.drawing import region_places
from records.sessions.errors import SessionError
from records.sessions.forms.points import SettingsForm, sentence
from records.sessions.forms.signing import AddendumForm
from records.sessions.forms.sittings import SessionForm, StartForm
from records.sessions.models import TreatmentSession
from records.sessions.queries.lists import signed_sessions, unsigned_sessions
from records.sessions.services.sittings import change_session, start_session
from records.sessions.views.charting import (
    REFUSALS,
    STEPS,
    find_session,
    fragments,
    last_settings,
    own_session,
    page_context,
    refused,
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
    if unsigned and request.method == "GET":
        return redirect("session-detail", unsigned.pk)
    form = StartForm(request.POST or None)
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
            )
        except SessionError as error:
            form.add_error(None, str(error))
        else:
            return redirect("session-detail", session.pk)
    context = {
        "patient": patient,
        "age": age_years(patient.birth_date, timezone.localdate()),
        "alerts": list(patient.alerts.current()),
        "appointment": appointment,
        "form": form,
        "back": reverse("session-list"),
    }
    return render(request, "sessions/start.html", context, status=422 if form.errors else 200)


def _appointment(request: HttpRequest, patient: Patient) -> Appointment | None:
    text = request.GET.get("appointment", "")
    if not text:
        return None
    pk = int(text) if text.isdecimal() and len(text) < 19 else 0
    return get_object_or_404(Appointment, pk=pk, patient=patient)


@allow(*CLINICAL)
@require_GET
def session_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """The charting screen of one's own unsigned session; the record of any other."""
    session = find_session(pk)
    record_read(request.user, session, patient_id=session.patient_id)
    context = page_context(session)
    if session.is_signed:
        return render(request, "sessions/signed.html", context | signed_context(session))
    context |= {
        "can_edit": session.injector_id == request.user.pk,
        "settings": SettingsForm(initial=last_settings(context), session=session),
        "steps": STEPS,
        "session_form": SessionForm(instance=session),
        "regions": list(Region),
        "sides": list(Side),
        "places": region_places(session.jaw),
        "region_cautions": [(word, level_of(word), cautions_for(word)) for word in Region],
        "caution_basis": LEVEL_BASIS,
    }
    return render(request, "sessions/chart.html", context)


def signed_context(session: TreatmentSession, form: AddendumForm | None = None) -> dict:
    return {
        "addenda": session.addenda.select_related("author", "point"),
        "addendum_form": form or AddendumForm(session=session),
        "note_url": reverse("note-pdf", args=[session.pk]),
    }


@allow(Role.INJECTOR)
@require_POST
def session_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """The drawing's outline and the free note."""
    session = own_session(request, pk)
    form = SessionForm(request.POST, instance=find_session(pk))
    if not form.is_valid():
        return refused(sentence(form))
    data, redraw = form.cleaned_data, form.cleaned_data["jaw"] != session.jaw
    try:
        session = change_session(
            session=session, jaw=data["jaw"], note=data["note"], actor=request.user
        )
    except REFUSALS as error:
        return refused(str(error), 409)
    answer = fragments(request, session, "The note is stored.")
    if redraw:
        messages.success(request, "The outline is changed.")
        answer["HX-Refresh"] = "true"
    return answer
