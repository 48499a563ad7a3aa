"""Visits that somebody has to move."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access.rules import EVERYONE, allow
from records.to_move.forms import NamedVisitsForm, TimeAwayForm
from records.to_move.queries import SHOWN, booked_during, visits_to_move


@allow(*EVERYONE)
@require_GET
def to_move(request: HttpRequest) -> HttpResponse:
    """Those booked outside of working times, in absences and closures, or in unusable rooms."""
    return render(request, "to_move/list.html", {"visits": visits_to_move(timezone.now())})


@allow(*EVERYONE)
@require_GET
def count(request: HttpRequest) -> HttpResponse:
    """How many there are, for a link to them; nothing where there are none."""
    return render(request, "to_move/_count.html", {"visits": visits_to_move(timezone.now())})


@allow(*EVERYONE)
@require_GET
def notice(request: HttpRequest) -> HttpResponse:
    """The same as a line of the start page."""
    return render(request, "to_move/_notice.html", {"visits": visits_to_move(timezone.now())})


@allow(*EVERYONE)
@require_GET
def during(request: HttpRequest) -> HttpResponse:
    """The visits booked in the span the address names, for the page that takes it away."""
    time = TimeAwayForm(request.GET).time_away()
    visits = booked_during(time) if time else []
    context = {"visits": visits[:SHOWN], "count": len(visits)}
    return render(request, "to_move/_during.html", context)


@allow(*EVERYONE)
@require_GET
def named(request: HttpRequest) -> HttpResponse:
    """The visits the address names, the first of as many as it says."""
    form = NamedVisitsForm(request.GET)
    context = {"visits": form.visits(), "count": form.count()}
    return render(request, "to_move/_during.html", context)
