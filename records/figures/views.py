"""The owner's report of the front desk: utilisation, no-shows, reviews."""

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.printing.csv_files import csv_download
from planning.desk_figures import LEAST
from planning.sources import KAPLAN_MEIER, WILSON_INTERVAL
from records.figures.exports import figures_as_csv
from records.figures.forms import FiguresForm
from records.figures.queries.report import Report, report
from records.figures.wording import cards, review_cells, visit_cells


@allow(Role.OWNER)
@require_safe
def figures(request: HttpRequest) -> HttpResponse:
    """The figures of the chosen days beside those of the days before."""
    form = FiguresForm(request.GET)
    if not form.is_valid():
        return render(request, "figures/figures.html", {"form": form})
    told = report(form.asked, timezone.now())
    return render(request, "figures/figures.html", {"form": form, **_page(told)})


def _page(told: Report) -> dict:
    asked = told.asked
    visits = [(row.label, visit_cells(row, has_hours=asked.by.has_hours)) for row in told.visits]
    all_visits = visit_cells(told.all_visits, has_hours=asked.by.has_hours)
    return {
        "asked": asked,
        "is_empty": told.is_empty,
        "cards": cards(told),
        "visits": visits,
        "all_visits": all_visits,
        "injectors": [(row.label, review_cells(row)) for row in told.injectors],
        "all_reviews": review_cells(told.all_reviews),
        "unmarked": told.all_visits.now.unmarked,
        "least": LEAST,
        "sources": (WILSON_INTERVAL, KAPLAN_MEIER),
    }


@allow(Role.OWNER)
@require_safe
def figures_csv(request: HttpRequest) -> HttpResponseBase:
    """The same as CSV."""
    form = FiguresForm(request.GET)
    if not form.is_valid():
        return render(request, "figures/figures.html", {"form": form})
    told = report(form.asked, timezone.now())
    days = told.asked.days
    return csv_download(f"front-desk-{days.first}-{days.last}", figures_as_csv(told))
