"""The pull list: units by place, ticked, and let go before a witness."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from clinic.stock.enums import MovementKind
from clinic.stock.errors import StockError
from records.recalls.errors import RecallError
from records.recalls.forms.pulling import ApartForm, LeaveForm, NotFoundForm
from records.recalls.models import CaseUnit
from records.recalls.queries.progress import unit_figures
from records.recalls.queries.units import pull_rows
from records.recalls.services.pulling import let_go, note_not_found, set_apart
from records.recalls.views.people import pdf_answer
from records.recalls.views.shared import CasePage, find_case, look_at


@allow(Role.OWNER)
@require_GET
def recall_units(request: HttpRequest, pk: int) -> HttpResponse:
    """What is still in the house, place by place; what lies apart; what has left."""
    page = look_at(request, pk)
    record_read(request.user, page.case, action="recall.units_read")
    return _units_page(request, page)


def _units_page(request: HttpRequest, page: CasePage, status: int = 200, **forms) -> HttpResponse:
    """The page; a form that came back with errors is among `forms`."""
    rows = pull_rows(page.case)
    context = page.context(
        to_pull=[row for row in rows if row.is_to_pull],
        apart=[row for row in rows if row.is_to_leave],
        gone=[row for row in rows if not row.is_here],
        figures=unit_figures(page.case, page.extent),
        apart_form=ApartForm(case=page.case),
        leave_form=LeaveForm(case=page.case),
        not_found_form=NotFoundForm(),
    )
    return render(request, "recalls/units.html", context | forms, status=status)


@allow(Role.OWNER)
@require_GET
def units_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The pull list on paper, to walk along with."""
    page = look_at(request, pk)
    record_read(request.user, page.case, action="recall.units_printed")
    context = page.context(
        rows=[row for row in pull_rows(page.case) if row.is_here],
        extent=page.extent, policy=current_policy(),
        printed_at=timezone.now(), printed_by=request.user,
    )  # fmt: skip
    return pdf_answer("print/recall_units.html", context, f"{page.case.file_stem}-units")


@allow(Role.OWNER)
@require_POST
def units_apart(request: HttpRequest, pk: int) -> HttpResponse:
    """Tick units that were taken from their places."""
    page = look_at(request, pk)
    form = ApartForm(request.POST, case=page.case)
    if not form.is_valid():
        return _units_page(request, page, status=422, apart_form=form)
    try:
        rows = set_apart(
            case=page.case, units=form.cleaned_data["units"],
            place=form.cleaned_data.get("place"), actor=request.user,
        )  # fmt: skip
    except (RecallError, StockError) as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"Set apart: {len(rows)}.")
    return redirect("recall-units", pk)


@allow(Role.OWNER)
@require_POST
def unit_not_found(request: HttpRequest, pk: int, unit: int) -> HttpResponse:
    """Write down that a unit was not there, and where it was looked for."""
    row = get_object_or_404(CaseUnit, case=pk, pk=unit)
    form = NotFoundForm(request.POST)
    if not form.is_valid():
        return _units_page(
            request, look_at(request, pk), status=422, not_found_form=form, asked_unit=row.pk
        )
    try:
        note_not_found(
            case=find_case(pk), unit=row.pk, looked_in=form.cleaned_data["looked_in"],
            actor=request.user,
        )  # fmt: skip
    except RecallError as refusal:
        messages.error(request, str(refusal))
    return redirect("recall-units", pk)


@allow(Role.OWNER)
@require_POST
def units_leave(request: HttpRequest, pk: int) -> HttpResponse:
    """Return the ticked units to the supplier or destroy them, before a witness."""
    page = look_at(request, pk)
    form = LeaveForm(request.POST, case=page.case)
    if not form.is_valid():
        return _units_page(request, page, status=422, leave_form=form)
    data = form.cleaned_data
    try:
        rows = let_go(
            case=page.case, units=data["units"], kind=MovementKind(data["kind"]),
            witness=data["witness"], reason=data["reason"], actor=request.user,
        )  # fmt: skip
    except (RecallError, StockError) as refusal:
        form.add_error(None, str(refusal))
        return _units_page(request, page, status=422, leave_form=form)
    messages.success(request, f"Out of the stock: {len(rows)}.")
    return redirect("recall-units", pk)
