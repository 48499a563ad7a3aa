"""Assessing a patient, and reading what was assessed."""

from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.staff.models import User
from planning.assessment import Need, Scale
from planning.vocabulary import Side, View
from records.assessments.charts import grade_charts
from records.assessments.errors import AssessmentError
from records.assessments.forms import AssessmentForm
from records.assessments.models import Assessment
from records.assessments.queries import (
    assessment_needs,
    grade_lines,
    latest_assessment,
    patient_assessments,
    previous_assessment,
)
from records.assessments.services import record_assessment
from records.patients.models import Patient
from records.plans.models import PlanStage

NEEDS_AT_A_GLANCE = 6


@allow(*CLINICAL)
@require_GET
def assessment_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """The latest assessment at a glance and the older ones in a table."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.assessments")
    rows = patient_assessments(patient)
    context = {"patient": patient, "rows": rows}
    if rows:
        found = assessment_needs(rows[0].assessment)
        context |= {
            "latest": rows[0].assessment,
            "charts": grade_charts(rows[0].assessment.grades, views=[View.FRONT]),
            "needs": found[:NEEDS_AT_A_GLANCE],
            "more": max(0, len(found) - NEEDS_AT_A_GLANCE),
        }
    return render(request, "assessments/_for_patient.html", context)


@allow(Role.INJECTOR)
@require_http_methods(["GET", "HEAD", "POST"])
def assessment_create(request: HttpRequest, pk: int) -> HttpResponse:
    """Grade the regions of a patient, starting from what was seen the last time."""
    patient = get_object_or_404(Patient, pk=pk)
    latest = latest_assessment(patient)
    is_afresh = "afresh" in request.GET
    form = AssessmentForm(
        request.POST if request.method == "POST" else None,
        start_from=latest.grades if latest and not is_afresh else (),
    )
    if request.method == "POST" and form.is_valid():
        try:
            assessment = record_assessment(
                patient=patient,
                grades=form.grades,
                note=form.cleaned_data["note"],
                key=form.cleaned_data["key"] or form.initial["key"],
                actor=request.user,
            )
        except AssessmentError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The assessment is saved.")
            return redirect("assessment-detail", pk=assessment.pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.assessments")
    context = {
        "patient": patient,
        "form": form,
        "parts": form.parts,
        "latest": latest,
        "is_afresh": is_afresh,
        "charts": grade_charts(form.shown, href=lambda region: f"#region-{region}"),
        "scales": list(Scale),
    }
    return render(request, "assessments/form.html", context, status=422 if form.errors else 200)


@allow(*CLINICAL)
@require_GET
def assessment_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One assessment, with what changed since the one before."""
    found = Assessment.objects.with_grades().select_related("patient", "made_by")
    assessment = get_object_or_404(found, pk=pk)
    record_read(request.user, assessment, patient_id=assessment.patient_id)
    before = previous_assessment(assessment)
    context = {
        "assessment": assessment,
        "patient": assessment.patient,
        "before": before,
        "lines": grade_lines(assessment, before),
        "charts": grade_charts(assessment.grades),
        "scales": list(Scale),
    }
    return render(request, "assessments/detail.html", context)


@allow(*CLINICAL)
@require_GET
def assessment_for_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """What the latest assessment found to treat, beside a stage of a plan."""
    stages = PlanStage.objects.select_related("plan__patient", "session")
    stage = get_object_or_404(stages, pk=pk)
    is_to_come = stage.plan.is_open and not (stage.session and stage.session.is_signed)
    patient = stage.plan.patient
    record_read(request.user, patient, patient_id=patient.pk, action="read.assessments")
    assessment = latest_assessment(patient)
    planned = set(stage.plan.stages.values_list("lines__region", "lines__side"))
    needs = assessment_needs(assessment) if assessment else ()
    context = {
        "stage": stage,
        "patient": patient,
        "assessment": assessment,
        "needs": [(need, _is_planned(need, planned)) for need in needs],
        "may_plan": is_to_come and Role.INJECTOR in cast(User, request.user).roles,
    }
    return render(request, "assessments/_for_plan.html", context)


def _is_planned(need: Need, planned: set[tuple[str, str]]) -> bool:
    """A line in the midline serves both sides, and lines for both sides serve the whole."""
    sides = {Side(side) for region, side in planned if region == need.region}
    is_both = need.side is Side.MIDLINE and {Side.LEFT, Side.RIGHT} <= sides
    return need.side in sides or Side.MIDLINE in sides or is_both
