"""One lot and where it went, as a page, a CSV file and a PDF."""

import re
from itertools import groupby, islice

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from clinic.printing.csv_files import csv_download
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from clinic.stock.models import Lot
from clinic.stock.queries import lot_stock
from planning.names import fold
from records.imports.queries.treatments import treatments_of_lot
from records.occlusions.queries import doses_of
from records.trace.exports import trace_as_csv
from records.trace.forms import TraceForm
from records.trace.queries import (
    lots_like,
    reached_patients,
    trace_rows,
    trace_summary,
    units_still_here,
)  # fmt: skip

# More than a person reads on a screen; the CSV holds all of it.
SHOWN_POINTS = 500
# About a hundred pages, and half a minute of one processor.
PRINTED_POINTS = 4_000


@allow(Role.OWNER)
@require_safe
def trace_lot(request, pk: int):
    """Show where this lot went: reached from the stock, and where two products share a number."""
    lot = _lot_or_404(pk)
    form = TraceForm(initial={"lot": lot.number, "gtin": lot.product.gtin})
    return traced(request, lot, form)


@allow(Role.OWNER)
@require_safe
def trace_csv(request, pk: int):
    """Every point of the lot as CSV, streamed."""
    lot = _lot_or_404(pk)
    record_read(request.user, lot, action="lot.exported")
    former = treatments_of_lot(lot.number)
    lines = trace_as_csv(lot, trace_rows(lot), doses_of([lot.pk]), former)
    return csv_download(_file_name(lot), lines)


@allow(Role.OWNER)
@require_safe
def trace_pdf(request, pk: int):
    """Every point of the lot as a document to file or hand over."""
    lot = _lot_or_404(pk)
    points = trace_summary(lot).points
    if points > PRINTED_POINTS:
        messages.warning(
            request,
            f"Lot {lot.number} has {points:,} points, and a PDF holds at most "
            f"{PRINTED_POINTS:,}. Take the CSV: it holds all of them.",
        )
        return redirect("trace-lot", pk=lot.pk)
    record_read(request.user, lot, action="lot.printed")
    context = _trace_context(lot, limit=None) | {
        "reached": reached_patients(lot),
        "policy": current_policy(),
        "printed_on": timezone.localdate(),
        "printed_by": request.user,
    }
    response = HttpResponse(
        render_pdf(document_html("print/trace.html", context)), content_type="application/pdf"
    )
    response["Content-Disposition"] = f'inline; filename="{_file_name(lot)}.pdf"'
    return response


def _file_name(lot: Lot) -> str:
    """A name that a clinic finds again: the lot number, without signs that file names refuse."""
    return f"lot-{re.sub(r'[^A-Za-z0-9]+', '-', lot.number)}-{lot.pk}"


def _lot_or_404(pk: int) -> Lot:
    return get_object_or_404(Lot.objects.select_related("product"), pk=pk)


def traced(request, lot: Lot, form: TraceForm) -> HttpResponse:
    """The page with the trace of `lot`; who looked at it goes into the audit trail."""
    record_read(request.user, lot, action="lot.traced")
    context = _trace_context(lot, limit=SHOWN_POINTS)
    reached = reached_patients(lot, limit=SHOWN_POINTS)
    context |= {
        "form": form,
        "alike": lots_like(lot.number),
        "reached": reached,
        "hidden_patients": context["summary"].patients - len(reached),
    }
    return render(request, "trace/trace.html", context)


def _trace_context(lot: Lot, *, limit: int | None) -> dict:
    """What page and document show; at most `limit` points and units, and how many are left out."""
    rows = list(islice(trace_rows(lot), limit))
    names = {row.patient_id: row.patient_name for row in rows}
    by_name = {patient: (fold(name), patient) for patient, name in names.items()}
    rows.sort(key=lambda row: by_name[row.patient_id])
    summary = trace_summary(lot)
    units = units_still_here(lot)
    shown_units = list(units[:limit])
    return {
        "lot": lot,
        "measure": lot.product.measure,
        "summary": summary,
        "stock": lot_stock(lot),
        "units": shown_units,
        "hidden_units": units.count() - len(shown_units),
        "patients": [list(points) for _, points in groupby(rows, key=lambda row: row.patient_id)],
        "doses": doses_of([lot.pk]),
        "former": treatments_of_lot(lot.number),
        "hidden_points": summary.points - len(rows),
        "hidden_note": f"The first {len(rows):,} of {summary.points:,} points are shown, by date; "
        "the CSV holds all of them.",
    }
