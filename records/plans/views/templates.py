"""The clinic's templates of plans."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from records.plans.errors import PlanError
from records.plans.forms import TemplateForm
from records.plans.models import Plan, PlanTemplate, TemplateLine
from records.plans.services.templates import (
    change_template,
    remove_template_line,
    save_as_template,
)
from records.plans.views.plans import patient_context


@allow(*CLINICAL)
@require_GET
def template_list(request: HttpRequest) -> HttpResponse:
    """Every template with what it holds; those no longer offered at the end."""
    templates = PlanTemplate.objects.order_by("-is_active", "name")
    templates = templates.prefetch_related("lines__product").select_related("saved_by")
    return render(request, "plans/templates.html", {"plan_templates": templates})


@allow(*CLINICAL)
@require_http_methods(["GET", "POST"])
def template_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Rename a template, offer it no longer, take lines out."""
    template = get_object_or_404(PlanTemplate.objects.prefetch_related("lines__product"), pk=pk)
    form = TemplateForm(request.POST or None, instance=template)
    if request.method == "POST" and form.is_valid():
        change_template(template=form.instance, actor=request.user)
        messages.success(request, f"“{form.instance}” is saved.")
        return redirect("plan-template-list")
    stored = PlanTemplate.objects.get(pk=pk)
    context = {"form": form, "template": stored, "lines": template.lines.all()}
    return render(request, "plans/template.html", context, status=422 if form.errors else 200)


@allow(*CLINICAL)
@require_POST
def template_line_remove(request: HttpRequest, pk: int) -> HttpResponse:
    line = get_object_or_404(TemplateLine.objects.select_related("template"), pk=pk)
    try:
        remove_template_line(line=line, actor=request.user)
    except PlanError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"Taken out: {line}.")
    return redirect("plan-template-edit", line.template_id)


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def template_save(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep the lines of a plan as a template."""
    plan = get_object_or_404(Plan.objects.select_related("patient"), pk=pk)
    form = TemplateForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            name = form.cleaned_data["name"]
            template = save_as_template(plan=plan, name=name, actor=request.user)
        except PlanError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"Kept as the template “{template}”.")
            return redirect("plan-detail", pk)
    context = {
        "form": form,
        "plan": plan,
        "heading": "Keep as a template",
        **patient_context(plan.patient),
    }
    return render(request, "plans/form.html", context, status=422 if form.errors else 200)
