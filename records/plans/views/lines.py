"""Stages and lines of a plan."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.atlas.queries import usual_way
from clinic.audit.services import record_read
from planning.atlas.regions import Region
from planning.vocabulary import Side
from records.plans.errors import PlanError
from records.plans.forms import ApplyTemplateForm, LineForm, StageForm
from records.plans.models import Plan, PlanLine, PlanStage
from records.plans.services.lines import remove_line, save_line
from records.plans.services.plans import add_stage, change_stage, give_back_stage, remove_stage
from records.plans.services.templates import apply_template
from records.plans.views.plans import patient_context


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def line_create(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a line to the stage; region and side may stand in the address, from a touch."""
    stage = get_object_or_404(_stages(), pk=pk)
    touched = _touched(request)
    region = touched.get("region")
    initial = (usual_way(Region(region)) if region else {}) | touched
    return _line_form(request, PlanLine(stage=stage), initial=initial)


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def line_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _line_form(request, get_object_or_404(_lines(), pk=pk))


def _touched(request: HttpRequest) -> dict:
    """What the address names, as far as it is known."""
    known = {"region": Region.choices(), "side": Side.choices()}
    asked = {name: request.GET.get(name, "") for name in known}
    return {
        name: value for name, value in asked.items() if value in [key for key, _ in known[name]]
    }


def _line_form(request: HttpRequest, line: PlanLine, initial: dict | None = None) -> HttpResponse:
    plan = line.stage.plan
    form = LineForm(request.POST or None, instance=line, initial=initial)
    if request.method == "POST" and form.is_valid():
        both = form.cleaned_data.get("both_sides", False)
        try:
            save_line(line=form.instance, also_other_side=both, actor=request.user)
        except PlanError as error:
            form.add_error(None, str(error))
        else:
            return redirect(_stage_address(line.stage))
    if request.method == "GET":
        record_read(request.user, plan, patient_id=plan.patient_id)
    context = {
        "form": form,
        "plan": plan,
        "line": line if line.pk else None,
        "heading": "Change a line" if line.pk else f"Add a line to stage {line.stage.number}",
        **patient_context(plan.patient),
    }
    return render(request, "plans/line.html", context, status=422 if form.errors else 200)


@allow(Role.INJECTOR)
@require_POST
def line_remove(request: HttpRequest, pk: int) -> HttpResponse:
    line = get_object_or_404(_lines(), pk=pk)
    stage, words = line.stage, str(line)
    _try(request, lambda: remove_line(line=line, actor=request.user), f"Taken out: {words}.")
    return redirect(_stage_address(stage))


@allow(Role.INJECTOR)
@require_POST
def stage_add(request: HttpRequest, pk: int) -> HttpResponse:
    """A further session of the plan, two weeks after the one before until somebody says else."""
    plan = get_object_or_404(Plan, pk=pk)
    _try(request, lambda: add_stage(plan=plan, weeks_after=2, actor=request.user))
    last = plan.stages.order_by("-number").first()
    return redirect(_stage_address(last) if last else reverse("plan-detail", args=[pk]))


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def stage_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """How long after the stage before."""
    stage = get_object_or_404(_stages(), pk=pk)
    form = StageForm(request.POST or None, instance=stage)
    if request.method == "POST" and form.is_valid():
        try:
            change_stage(stage=form.instance, actor=request.user)
        except PlanError as error:
            form.add_error(None, str(error))
        else:
            return redirect(_stage_address(stage))
    context = {
        "form": form,
        "plan": stage.plan,
        "heading": f"When stage {stage.number} takes place",
        **patient_context(stage.plan.patient),
    }
    return render(request, "plans/form.html", context, status=422 if form.errors else 200)


@allow(Role.INJECTOR)
@require_POST
def stage_give_back(request: HttpRequest, pk: int) -> HttpResponse:
    """The session under way is about something else."""
    stage = get_object_or_404(_stages(), pk=pk)
    _try(
        request,
        lambda: give_back_stage(stage=stage, actor=request.user),
        "The stage waits for the next session.",
    )
    return redirect(_stage_address(stage))


@allow(Role.INJECTOR)
@require_POST
def stage_remove(request: HttpRequest, pk: int) -> HttpResponse:
    stage = get_object_or_404(_stages(), pk=pk)
    plan = stage.plan
    _try(request, lambda: remove_stage(stage=stage, actor=request.user), "The stage is taken out.")
    return redirect("plan-detail", plan.pk)


@allow(Role.INJECTOR)
@require_POST
def template_apply(request: HttpRequest, pk: int) -> HttpResponse:
    """Copy a template's lines into the plan, from this stage on."""
    stage = get_object_or_404(_stages(), pk=pk)
    form = ApplyTemplateForm(request.POST)
    if form.is_valid():
        template = form.cleaned_data["template"]
        _try(
            request,
            lambda: apply_template(
                plan=stage.plan, template=template, stage=stage, actor=request.user
            ),
            f"The lines of “{template}” are in the plan.",
        )
    else:
        messages.error(request, "Choose one of the templates first.")
    return redirect(_stage_address(stage))


def _try(request: HttpRequest, act, done: str = "") -> None:
    """What was refused is said on the page that follows."""
    try:
        act()
    except PlanError as error:
        messages.error(request, str(error))
    else:
        if done:
            messages.success(request, done)


def _stages():
    return PlanStage.objects.select_related("plan__patient", "session")


def _lines():
    return PlanLine.objects.select_related("stage__plan__patient", "stage__session", "product")


def _stage_address(stage: PlanStage) -> str:
    return f"{reverse('plan-detail', args=[stage.plan_id])}?stage={stage.number}"
