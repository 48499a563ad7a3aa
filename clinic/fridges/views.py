"""Fridges: readings, excursions and what was decided about them."""

import re
from datetime import timedelta

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST, require_safe

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.fridges.errors import FridgeError, NotSaidWhatWasDone, WrongTime
from clinic.fridges.exports import log_as_csv
from clinic.fridges.forms import DecisionForm, ReadingForm
from clinic.fridges.models import FridgeReading
from clinic.fridges.queries import (
    CHART_DAYS,
    ExcursionRow,
    chart_of,
    excursions_of,
    fridges_now,
    lots_lying_then,
)
from clinic.fridges.services import decide_excursion, log_reading
from clinic.places.models import Place
from clinic.policy.queries import current_policy
from clinic.printing.csv_files import csv_download
from planning.sources import FRIDGE_RANGE, FRIDGE_READINGS

READINGS_PER_PAGE = 30


@allow(*CLINICAL)
@require_GET
def fridge_list(request):
    """Each fridge: its last reading, and whether one is overdue or an excursion is open."""
    policy = current_policy()
    context = {"fridges": fridges_now(policy, timezone.now()), "hours": policy.reading_hours}
    return render(request, "fridges/fridge_list.html", context | _sources())


@allow(*CLINICAL)
@require_GET
def fridge_detail(request, pk):
    return _fridge_page(request, _fridge(pk))


@allow(*CLINICAL)
@require_POST
def fridge_log(request, pk):
    """Write a reading down; one out of range comes back once, to ask what was done."""
    place = _fridge(pk)
    form = ReadingForm(request.POST, place=place)
    if form.is_valid():
        try:
            log_reading(place=place, actor=request.user, **form.cleaned_data)
        except NotSaidWhatWasDone as error:
            form.add_error("done", str(error))
        except WrongTime as error:
            form.add_error("read_at", str(error))
        except FridgeError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"The reading of {place.name} is logged.")
            return redirect("fridge-detail", pk=place.pk)
    return _fridge_page(request, place, form=form, status=422)


def _fridge_page(request, place, *, form=None, status=200):
    now = timezone.now()
    recent = place.readings.filter(read_at__gte=now - timedelta(days=CHART_DAYS))
    readings = Paginator(place.readings.select_related("by"), READINGS_PER_PAGE)
    context = {
        "place": place,
        "form": form or ReadingForm(place=place),
        "chart": chart_of(place, recent, now),
        "chart_days": CHART_DAYS,
        "excursions": excursions_of(place),
        "page_obj": readings.get_page(request.GET.get("page")),
    }
    return render(request, "fridges/fridge_detail.html", context | _sources(), status=status)


@allow(*CLINICAL)
@require_safe
def fridge_csv(request, pk):
    """The whole log of one fridge as CSV, streamed."""
    place = _fridge(pk)
    record_read(request.user, place, action="fridge.exported")
    name = re.sub(r"[^A-Za-z0-9]+", "-", place.name).strip("-") or "fridge"
    return csv_download(f"{name}-{place.pk}", log_as_csv(place))


@allow(*CLINICAL)
@require_GET
def excursion_detail(request, pk):
    """One excursion, by its first reading: what lay there then, and what was decided."""
    reading, row = _excursion(pk)
    return _excursion_page(request, reading.place, row)


@allow(Role.OWNER)
@require_POST
def excursion_decide(request, pk):
    """Write down what was decided about the products."""
    (reading, row), form = _excursion(pk), DecisionForm(request.POST)
    if form.is_valid():
        decide_excursion(
            first=row.first, last=row.last, decision=form.cleaned_data["decision"],
            actor=request.user,
        )  # fmt: skip
        messages.success(request, "The decision is written down.")
        return redirect("fridge-detail", pk=reading.place_id)
    return _excursion_page(request, reading.place, row, form=form, status=422)


def _excursion_page(request, place, row, *, form=None, status=200):
    until = row.until or timezone.now()
    context = {
        "place": place,
        "row": row,
        "lots": lots_lying_then(place, since=row.since, until=until),
        "form": form or DecisionForm(),
    }
    return render(request, "fridges/excursion_detail.html", context, status=status)


def _fridge(pk) -> Place:
    return get_object_or_404(Place.objects.fridges(), pk=pk)


def _excursion(pk) -> tuple[FridgeReading, ExcursionRow]:
    reading = get_object_or_404(FridgeReading.objects.select_related("place__site"), pk=pk)
    for row in excursions_of(reading.place):
        if row.first.pk == reading.pk:
            return reading, row
    raise Http404("No excursion begins with this reading.")


def _sources() -> dict:
    return {"range_source": FRIDGE_RANGE, "readings_source": FRIDGE_READINGS}
