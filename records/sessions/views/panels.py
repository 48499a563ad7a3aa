"""Fragments that pages of other capabilities load by address."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.stock.models import UnitOfStock
from planning.vocabulary import Jaw, View
from records.patients.models import Patient
from records.sessions.drawing import view_drawing
from records.sessions.queries.lists import patient_sessions, unit_points
from records.sessions.queries.made_up import MadeUp


@allow(*CLINICAL)
@require_GET
def session_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """A patient's sessions, newest first, with what was given."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.sessions")
    context = {"patient": patient, "past": patient_sessions(patient)}
    return render(request, "sessions/_for_patient.html", context)


@allow(*CLINICAL)
@require_GET
def session_for_unit(request: HttpRequest, pk: int) -> HttpResponse:
    """How one unit of stock was opened, and whom it went to, point by point."""
    units = UnitOfStock.objects.with_lot().select_related("opening__opened_by", "opening__patient")
    unit = get_object_or_404(units, pk=pk)
    record_read(request.user, unit, action="read.points")
    made_up = MadeUp(unit) if hasattr(unit, "opening") else None
    context = {"unit": unit, "points": unit_points(unit), "made_up": made_up}
    return render(request, "sessions/_for_unit.html", context)


@allow(*CLINICAL)
@require_GET
def session_drawing(request: HttpRequest, view: str, jaw: str) -> HttpResponse:
    """
    One view of the face without marks. It is large, the same for all patients, and its address
    changes with it, so that a tablet on a weak network fetches it once.
    """
    try:
        text = view_drawing(View(view), Jaw(jaw))
    except (ValueError, KeyError) as error:  # a photograph is a view without a drawing
        raise Http404 from error
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return HttpResponse(text, headers=headers)
