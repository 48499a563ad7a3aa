"""The lot trace as a page, a CSV file and a PDF."""

from itertools import groupby, islice

from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, render
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.http import require_safe

from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from clinic.printing.pdf import render_pdf
from clinic.staff.access import allow
from clinic.staff.enums import Role
from clinic.stock.models import Lot
from clinic.stock.queries import lot_stock
from records.trace.errors import LotAmbiguous, LotNotFound
from records.trace.exports import trace_as_csv
from records.trace.forms import TraceForm
from records.trace.queries import (
    find_lot,
    lots_numbered,
    trace_rows,
    trace_summary,
    units_still_here,
)  # fmt: skip

# More than a person reads on a screen; the files hold all of it.
SHOWN_POINTS = 500


@allow(Role.OWNER)
@require_safe
def trace(request):
    """Ask for a lot and show where it went."""
    form = TraceForm(request.GET or None)
    context = {"form": form}
    if form.is_bound and form.is_valid():
        number = form.cleaned_data["lot"]
        try:
            lot = find_lot(number, form.cleaned_data["gtin"])
        except LotAmbiguous:
            context["candidates"] = lots_numbered(number)
        except LotNotFound as error:
            form.add_error("lot", str(error))
        else:
            record_read(request.user, lot, action="lot.traced")
            context |= _trace_context(lot, limit=SHOWN_POINTS)
    return render(request, "trace/trace.html", context)


@allow(Role.OWNER)
@require_safe
def trace_csv(request, pk: int):
    """Every point of the lot as CSV, streamed."""
    lot = get_object_or_404(Lot.objects.select_related("product"), pk=pk)
    record_read(request.user, lot, action="lot.exported")
    response = StreamingHttpResponse(
        trace_as_csv(lot, trace_rows(lot)), content_type="text/csv; charset=utf-8"
    )
    response["Content-Disposition"] = f'attachment; filename="trace-{lot.pk}.csv"'
    return response


@allow(Role.OWNER)
@require_safe
def trace_pdf(request, pk: int):
    """Every point of the lot as a document to file or hand over."""
    lot = get_object_or_404(Lot.objects.select_related("product"), pk=pk)
    record_read(request.user, lot, action="lot.printed")
    context = _trace_context(lot, limit=None) | {
        "policy": current_policy(),
        "printed_on": timezone.localdate(),
        "printed_by": request.user,
    }
    response = HttpResponse(
        render_pdf(render_to_string("print/trace.html", context)), content_type="application/pdf"
    )
    response["Content-Disposition"] = f'inline; filename="trace-{lot.pk}.pdf"'
    return response


def _trace_context(lot: Lot, *, limit: int | None) -> dict:
    rows = list(islice(trace_rows(lot), limit))
    rows.sort(key=lambda row: (row.patient_name.casefold(), row.patient_id))
    summary = trace_summary(lot)
    return {
        "lot": lot,
        "measure": lot.product.measure,
        "summary": summary,
        "stock": lot_stock(lot),
        "units": units_still_here(lot),
        "patients": [list(points) for _, points in groupby(rows, key=lambda row: row.patient_id)],
        "hidden_points": summary.points - len(rows),
        "hidden_note": f"The first {len(rows)} of {summary.points} points are shown; "
        "the CSV and the PDF hold all of them.",
        "today": timezone.localdate(),
    }
