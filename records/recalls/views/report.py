"""The report of a case as PDF, and its panel."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from records.recalls.models import CaseReport, RecallCase
from records.recalls.services.report import give_out_report, keep_report
from records.recalls.views.shared import find_case


@allow(Role.OWNER)
@require_GET
def recall_report(request: HttpRequest, pk: int) -> HttpResponse:
    """The report as it is kept; of an open case, a draft of it."""
    case = find_case(pk)
    response = HttpResponse(
        give_out_report(case=case, actor=request.user), content_type="application/pdf"
    )
    draft = "-draft" if case.is_open else ""
    response["Content-Disposition"] = f'inline; filename="{case.file_stem}-report{draft}.pdf"'
    return response


@allow(Role.OWNER)
@require_GET
def report_panel(request: HttpRequest, pk: int) -> HttpResponse:
    """Whether there is a report, for the page of the case."""
    return _panel(request, find_case(pk))


@allow(Role.OWNER)
@require_POST
def report_keep(request: HttpRequest, pk: int) -> HttpResponse:
    """Make the report of a closed case, if it is not made yet."""
    case = find_case(pk)
    if not case.is_open:
        keep_report(case=case, actor=request.user)
    if "HX-Request" not in request.headers:
        return redirect("recall-detail", pk)
    return _panel(request, case)


def _panel(request: HttpRequest, case: RecallCase) -> HttpResponse:
    report = CaseReport.objects.defer("pdf").filter(case=case).first()
    return render(request, "recalls/_report_panel.html", {"case": case, "report": report})
