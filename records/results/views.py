"""Results over time: the clinic's waste for the owner, a patient's amounts for the injector."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.printing.csv_files import csv_download
from planning.region_plots import region_plots
from records.patients.models import Patient
from records.results.exports import waste_as_csv
from records.results.forms import WasteForm
from records.results.queries.amounts import amounts_of
from records.results.queries.waste import waste_reasons, waste_series, written_off

PLOTS_PER_PAGE = 24


@allow(Role.OWNER)
@require_safe
def waste(request: HttpRequest) -> HttpResponse:
    """What was thrown away in the period, month by month, and why."""
    form = WasteForm(request.GET)
    if not form.is_valid():
        return render(request, "results/waste.html", {"form": form})
    pages = Paginator(waste_series(form.period, form.chosen), PLOTS_PER_PAGE)
    context = {
        "form": form,
        "by": form.chosen,
        "page_obj": pages.get_page(request.GET.get("page")),
        "reasons": waste_reasons(form.period),
        "written_off": written_off(form.period),
    }
    return render(request, "results/waste.html", context)


@allow(Role.OWNER)
@require_safe
def waste_csv(request: HttpRequest) -> HttpResponseBase:
    """Every month with waste as CSV."""
    form = WasteForm(request.GET)
    if not form.is_valid():
        return render(request, "results/waste.html", {"form": form})
    by, period = form.chosen, form.period
    lines = waste_as_csv(by, waste_series(period, by))
    return csv_download(f"waste-by-{by}-{period.first}-{period.last}", lines)


@allow(*CLINICAL)
@require_safe
def results_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """What the patient got in each region, over all sessions."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.amounts")
    given = amounts_of(patient)
    context = {
        "patient": patient,
        "kinds": region_plots(given),
        "sessions": len({row.session for row in given}),
    }
    return render(request, "results/patient.html", context)
