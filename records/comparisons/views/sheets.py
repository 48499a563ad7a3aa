"""Printing a comparison."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from records.comparisons.errors import SheetRefused
from records.comparisons.forms import SheetForm
from records.comparisons.models import ComparisonSheet
from records.comparisons.queries import Comparison
from records.comparisons.services.sheets import hand_out_sheet, make_sheet
from records.comparisons.views.finding import find_pair, find_sides
from records.comparisons.views.showing import shown
from records.photographs.enums import OUTSIDE


@allow(*CLINICAL)
@require_POST
def pair_sheet(request: HttpRequest, first: uuid.UUID, second: uuid.UUID) -> HttpResponse:
    return _made(request, find_pair(request, first, second))


@allow(*CLINICAL)
@require_POST
def sides_sheet(request: HttpRequest, key: uuid.UUID, side: str) -> HttpResponse:
    return _made(request, find_sides(key, side))


@allow(*CLINICAL)
@require_safe
def sheet_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """A sheet, byte for byte; one for a use outside of the record is the practice owner's."""
    sheets = ComparisonSheet.objects.select_related("first", "second")
    if Role.OWNER not in request.user.roles:  # type: ignore[union-attr]
        sheets = sheets.exclude(use__in=OUTSIDE)
    sheet = get_object_or_404(sheets, pk=pk)
    try:
        pdf = hand_out_sheet(sheet=sheet, actor=request.user)
    except SheetRefused as error:
        messages.error(request, str(error))
        return redirect("photograph-list", sheet.first.patient_id)
    headers = {
        "Content-Disposition": f'inline; filename="comparison-{sheet.pk}.pdf"',
        "Cache-Control": "no-store",
    }
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _made(request: HttpRequest, comparison: Comparison) -> HttpResponse:
    form = SheetForm(request.POST, roles=request.user.roles)  # type: ignore[union-attr]
    if form.is_valid():
        try:
            sheet = make_sheet(comparison=comparison, actor=request.user, **form.cleaned_data)
        except SheetRefused as error:
            form.add_error("use", str(error))
        except FileNotFoundError:
            form.add_error(None, "The file of a picture is missing. Tell the practice owner.")
        else:
            return redirect("comparison-sheet", sheet.pk)
    return shown(request, comparison, sheet_form=form)
