"""The open plans, one plan, and starting, changing and ending it."""

from typing import cast

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from clinic.staff.models import User
from planning.ages import age_years
from planning.atlas.drawing import VIEW_SIDES
from planning.atlas.locate import MIDLINE_HALF_WIDTH_DMM
from planning.atlas.region_map import DRAWN_VIEWS
from planning.vocabulary import Jaw
from records.drawings.queries import drawing_url
from records.patients.models import Patient
from records.plans.errors import PlanError
from records.plans.forms import ApplyTemplateForm, EndPlanForm, PlanForm, StartPlanForm
from records.plans.models import Plan
from records.plans.queries.chart import plan_views
from records.plans.queries.plans import with_lines
from records.plans.queries.quotes import quote_of
from records.plans.services.plans import change_plan, end_plan, start_plan
from records.plans.services.templates import apply_template

PER_PAGE = 40


@allow(*CLINICAL)
@require_GET
def plan_list(request: HttpRequest) -> HttpResponse:
    """Plans that are being carried out, the newest first."""
    plans = with_lines(Plan.objects.still_open().select_related("patient", "made_by"))
    page = Paginator(plans, PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "plans/list.html", {"page_obj": page})


@allow(*CLINICAL)
@require_GET
def plan_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """A patient's plans, as a part of the patient's page."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.plans")
    plans = list(with_lines(patient.plans.select_related("made_by")))
    context = {
        "patient": patient,
        "current": next((plan for plan in plans if plan.is_open), None),
        "ended": [plan for plan in plans if not plan.is_open],
    }
    return render(request, "plans/_for_patient.html", context)


@allow(*CLINICAL)
@require_GET
def plan_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """A plan with the chart of one of its stages, what it opens and what it costs."""
    plan = get_object_or_404(with_lines(Plan.objects.select_related("patient", "made_by")), pk=pk)
    record_read(request.user, plan, patient_id=plan.patient_id)
    return render(request, "plans/detail.html", detail_context(request, plan))


def detail_context(request: HttpRequest, plan: Plan) -> dict:
    stages, policy = list(plan.stages.all()), current_policy()
    number = request.GET.get("stage", "")
    untreated = [stage for stage in stages if not (stage.session and stage.session.is_signed)]
    shown = next((stage for stage in stages if str(stage.number) == number), None)
    shown = shown or (untreated or stages)[0]
    may_edit = plan.is_open and Role.INJECTOR in cast(User, request.user).roles
    return {
        **patient_context(plan.patient),
        "plan": plan,
        "stages": stages,
        "shown": shown,
        "may_edit": may_edit,
        "may_edit_stage": may_edit and shown in untreated,
        "quote": quote_of(plan, policy),
        "drawings": [
            (view, drawing_url(view, Jaw.AVERAGE), VIEW_SIDES[view]) for view in DRAWN_VIEWS
        ],
        "views": plan_views(shown.lines.all()),
        "midline_half_width": MIDLINE_HALF_WIDTH_DMM,
        "template_form": ApplyTemplateForm(),
        "summaries": plan.summaries.defer("pdf").select_related("issued_by").order_by("-number"),
    }


def patient_context(patient: Patient) -> dict:
    return {"patient": patient, "age": age_years(patient.birth_date, timezone.localdate())}


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def plan_start(request: HttpRequest, pk: int) -> HttpResponse:
    """Start a plan for a patient, empty or from a template."""
    patient = get_object_or_404(Patient, pk=pk)
    if current := patient.plans.still_open().first():
        return redirect("plan-detail", current.pk)
    form = StartPlanForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            plan = start_plan(patient=patient, title=form.cleaned_data["title"], actor=request.user)
            if template := form.cleaned_data["template"]:
                first = plan.stages.get(number=1)
                apply_template(plan=plan, template=template, stage=first, actor=request.user)
        except PlanError as error:
            form.add_error(None, str(error))
        else:
            return redirect("plan-detail", plan.pk)
    context = {"form": form, "heading": "Start a plan", **patient_context(patient)}
    return render(request, "plans/form.html", context, status=422 if form.errors else 200)


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def plan_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Title, note and what else was spoken of."""
    plan = _open_plan(pk)
    form = PlanForm(request.POST or None, instance=plan)
    if request.method == "POST" and form.is_valid():
        try:
            change_plan(plan=form.instance, actor=request.user)
        except PlanError as error:
            form.add_error(None, str(error))
        else:
            return redirect("plan-detail", pk)
    return _form_page(request, form, plan, "Change the plan")


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def plan_end(request: HttpRequest, pk: int) -> HttpResponse:
    """End a plan: carried out, or given up."""
    plan = _open_plan(pk)
    form = EndPlanForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            end_plan(plan=plan, actor=request.user, **form.ending)
        except PlanError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"The plan “{plan}” is ended.")
            return redirect("patient-detail", plan.patient_id)
    return _form_page(request, form, plan, "End the plan")


def _open_plan(pk: int) -> Plan:
    return get_object_or_404(Plan.objects.still_open().select_related("patient"), pk=pk)


def _form_page(request: HttpRequest, form, plan: Plan, heading: str) -> HttpResponse:
    if request.method == "GET":
        record_read(request.user, plan, patient_id=plan.patient_id)
    context = {"form": form, "plan": plan, "heading": heading, **patient_context(plan.patient)}
    return render(request, "plans/form.html", context, status=422 if form.errors else 200)
