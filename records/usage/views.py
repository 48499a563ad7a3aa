"""The owner's audit: use by product, lot, injector and month, and adverse events per lot."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.printing.csv_files import csv_download
from planning.funnel import METHOD, chance_note
from planning.sources import FUNNEL_INTERPOLATION, FUNNEL_PLOT, WILSON_INTERVAL
from records.usage.exports import events_as_csv, use_as_csv
from records.usage.forms import PeriodForm, UseForm
from records.usage.queries.events import event_rates
from records.usage.queries.period import Period
from records.usage.queries.use import totals_of, use_of

ROWS_PER_PAGE = 100
LOTS_PER_PAGE = 50


@allow(Role.OWNER)
@require_safe
def usage(request: HttpRequest) -> HttpResponse:
    """What was used in the period."""
    form = UseForm(request.GET)
    if not form.is_valid():
        return render(request, "usage/use.html", {"form": form})
    rows = use_of(form.period, form.chosen)
    context = {
        "form": form,
        "by": form.chosen,
        "totals": totals_of(form.period, rows),
        "page_obj": Paginator(rows, ROWS_PER_PAGE).get_page(request.GET.get("page")),
    }
    return render(request, "usage/use.html", context)


@allow(Role.OWNER)
@require_safe
def usage_csv(request: HttpRequest) -> HttpResponseBase:
    """The whole table of the period as CSV."""
    form = UseForm(request.GET)
    if not form.is_valid():
        return render(request, "usage/use.html", {"form": form})
    by, period = form.chosen, form.period
    return csv_download(_name(f"use-by-{by}", period), use_as_csv(by, use_of(period, by)))


@allow(Role.OWNER)
@require_safe
def usage_events(request: HttpRequest) -> HttpResponse:
    """Adverse events per lot: whether one has more than chance allows."""
    form = PeriodForm(request.GET)
    if not form.is_valid():
        return render(request, "usage/events.html", {"form": form})
    rates = event_rates(form.period)
    context = {
        "form": form,
        "rates": rates,
        "page_obj": Paginator(rates.lots, LOTS_PER_PAGE).get_page(request.GET.get("page")),
        "method": METHOD,
        "by_chance": chance_note(len(rates.lots)) if rates.lots else "",
        "sources": (FUNNEL_PLOT, FUNNEL_INTERPOLATION, WILSON_INTERVAL),
    }
    return render(request, "usage/events.html", context)


@allow(Role.OWNER)
@require_safe
def usage_events_csv(request: HttpRequest) -> HttpResponseBase:
    """Every lot of the period as CSV."""
    form = PeriodForm(request.GET)
    if not form.is_valid():
        return render(request, "usage/events.html", {"form": form})
    lines = events_as_csv(event_rates(form.period))
    return csv_download(_name("adverse-events-by-lot", form.period), lines)


def _name(what: str, period: Period) -> str:
    return f"{what}-{period.first}-{period.last}"
