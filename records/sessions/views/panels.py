"""Fragments that pages of other capabilities load by address."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.stock.models import UnitOfStock
from records.patients.models import Patient
from records.plans.models import PlanStage
from records.sessions.queries.lists import patient_sessions, unit_points
from records.sessions.queries.made_up import MadeUp
from records.sessions.queries.plan_checks import plan_flags


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
def session_checks_for_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """What the limits say of a stage of a plan, if it were given today."""
    stages = PlanStage.objects.select_related("plan__patient", "session__patient")
    stage = get_object_or_404(stages.prefetch_related("lines__product"), pk=pk)
    patient = stage.plan.patient
    record_read(request.user, patient, patient_id=patient.pk, action="read.plan_checks")
    context = {"flags": plan_flags(stage), "has_lines": stage.lines.exists()}
    return render(request, "sessions/_checks_for_plan.html", context)
