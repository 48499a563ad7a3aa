"""The effectiveness check: its panel, the sample, and asking one patient after another."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from records.recalls.enums import CheckResult
from records.recalls.errors import RecallError
from records.recalls.forms.checks import CheckForm
from records.recalls.models import CaseCheck
from records.recalls.queries.checks import check_standing, checks_of, next_check, seed_of
from records.recalls.services.checks import draw_checks, record_check
from records.recalls.views.shared import case_context, find_case, look_at

PER_PAGE = 50


@allow(Role.OWNER)
@require_GET
def checks_panel(request: HttpRequest, pk: int) -> HttpResponse:
    """Where the check stands, for the page of the case."""
    case = find_case(pk)
    context = {"case": case, "check": check_standing(case)}
    return render(request, "recalls/_checks_panel.html", context)


@allow(Role.OWNER)
@require_GET
def recall_checks(request: HttpRequest, pk: int) -> HttpResponse:
    """The sample in the order of the draw, and what came of it."""
    page = look_at(request, pk)
    record_read(request.user, page.case, action="read.checks")
    rows = Paginator(checks_of(page.case), PER_PAGE).get_page(request.GET.get("page"))
    context = page.context(check=check_standing(page.case), seed=seed_of(page.case), page_obj=rows)
    return render(request, "recalls/checks.html", context)


@allow(Role.OWNER)
@require_POST
def checks_draw(request: HttpRequest, pk: int) -> HttpResponse:
    """Draw the sample, or add to it those found since."""
    case = look_at(request, pk).case
    try:
        drawn = draw_checks(case=case, actor=request.user)
    except RecallError as refusal:
        messages.error(request, str(refusal))
    else:
        told = f"The sample is drawn: {drawn.added} of {case.people.count()}."
        if drawn.kept:
            told = f"Added to the sample: {drawn.added}. The {drawn.kept} drawn before stay."
        messages.success(request, told)
    return redirect("recall-checks", pk)


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def recall_check(request: HttpRequest, pk: int, check: int) -> HttpResponse:
    """One patient of the sample: how to reach them, and what came of it; then the next."""
    found = get_object_or_404(
        CaseCheck.objects.select_related("person__patient", "person__case", "by"),
        pk=check, person__case=pk,
    )  # fmt: skip
    case, patient = found.person.case, found.person.patient
    if not case.is_open:
        messages.error(request, f"{case} is closed and never changes.")
        return redirect("recall-checks", pk)
    record_read(request.user, patient, patient_id=patient.pk)
    form = CheckForm(request.POST if request.method == "POST" else None, instance=found)
    if request.method == "POST" and form.is_valid():
        try:
            record_check(
                check=found, result=CheckResult(form.cleaned_data["result"]),
                note=form.cleaned_data["note"], actor=request.user,
            )  # fmt: skip
        except RecallError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Written down for {patient.record_number}.")
            following = next_check(found)
            if following is None:
                return redirect("recall-checks", pk)
            return redirect("recall-check", pk, following.pk)
    context = case_context(case) | {"check": found, "patient": patient, "form": form}
    return render(request, "recalls/check.html", context, status=422 if form.errors else 200)
