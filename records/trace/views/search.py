"""Finding the lots: by number alone straight to its trace, by anything else a list of them."""

from typing import cast

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import acting
from clinic.printing.csv_files import csv_download
from clinic.staff.models import User
from records.imports.queries.treatments import treatments_of_lot
from records.trace.errors import LotAmbiguous, LotNotFound
from records.trace.exports import points_as_csv
from records.trace.forms import TraceForm
from records.trace.queries import find_lot, lots_like, lots_numbered
from records.trace.queries.search import found_lots, found_points
from records.trace.views.lots import traced

LOTS_PER_PAGE = 40


@allow(Role.OWNER)
@require_safe
def trace(request: HttpRequest) -> HttpResponse:
    """Ask for a lot and show where it went, or which lots fit."""
    form = TraceForm(request.GET or None)
    if not form.is_valid():
        return _asked(request, form, alike=_alike(form))
    if form.names_a_lot:
        return _one_lot(request, form)
    search = form.search
    # The ids of all of them, so that the points are looked through once.
    ids = list(search.lots.values_list("pk", flat=True))
    page = Paginator(ids, LOTS_PER_PAGE).get_page(request.GET.get("page"))
    rows = found_lots(search, list(page.object_list))
    context = {
        "search": search,
        "page_obj": page,
        "rows": rows,
        "today": timezone.localdate(),
        "alike": [] if rows else _alike(form),
    }
    return _asked(request, form, **context)


@allow(Role.OWNER)
@require_safe
def trace_search_csv(request: HttpRequest) -> HttpResponseBase:
    """Every point that fits the search as CSV, lot by lot, streamed."""
    form = TraceForm(request.GET)
    if not form.is_valid():
        return _asked(request, form, alike=_alike(form))
    with acting(request.user) as trail:
        asked = {name: str(value) for name, value in form.cleaned_data.items() if value}
        trail.add("lots.exported", cast(User, request.user), after=asked)
    return csv_download("lots", points_as_csv(found_points(form.search)))


def _one_lot(request: HttpRequest, form: TraceForm) -> HttpResponse:
    """The trace of the lot with this number; where several have it, the choice between them."""
    number = form.cleaned_data["lot"]
    try:
        lot = find_lot(number, form.cleaned_data["gtin"])
    except LotAmbiguous:
        return _asked(request, form, candidates=lots_numbered(number))
    except LotNotFound as error:
        form.add_error("lot", str(error))
        former = list(treatments_of_lot(number))
        if former:
            with acting(request.user) as trail:
                trail.add("former_record.traced", cast(User, request.user), after={"lot": number})
        # With a GTIN that does not fit, the very number may be another product's.
        return _asked(
            request, form, alike=[*lots_numbered(number), *lots_like(number)], former=former
        )
    return traced(request, lot, form)


def _alike(form: TraceForm):
    """Lots whose number is easily taken for what was typed, a number that none can have as well."""
    typed = form["lot"].value()
    return lots_like(typed.strip()) if form.is_bound and typed else []


def _asked(request: HttpRequest, form: TraceForm, **context) -> HttpResponse:
    return render(request, "trace/trace.html", {"form": form, **context})
