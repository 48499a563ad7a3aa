"""Which two of a patient's photographs are compared."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET

from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from planning.landmarks import marks_of
from planning.standard_views import Shot
from records.comparisons.forms import ChoosePairForm
from records.comparisons.queries import ShotCount, shots_of
from records.patients.models import Patient


@allow(*CLINICAL)
@require_GET
def comparison_choose(request: HttpRequest, pk: int) -> HttpResponse:
    """All that show the same, the latest first; two that were chosen lead to their comparison."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.photographs")
    shots = shots_of(patient)
    shot = _chosen(shots, request.GET.get("shot", ""))
    photographs = patient.photographs.standing().latest_first()
    form = None
    if "compare" in request.GET:
        form = ChoosePairForm(request.GET, photographs=photographs)
        if form.is_valid():
            one, other = form.cleaned_data["picture"]
            return redirect("comparison-pair", one.key, other.key)
    if shot is not None:
        photographs = photographs.filter(view=shot.view, state=shot.state)
    shown = list(photographs) if shot else []
    keys = [str(photograph.key) for photograph in shown]
    context = {
        "patient": patient,
        "shots": shots,
        "shot": shot,
        "photographs": shown,
        "has_sides": shot is not None and marks_of(shot.view).has_sides,
        "ticked": request.GET.getlist("picture") if form else {*keys[:1], *keys[-1:]},
        "form": form,
    }
    return render(request, "comparisons/choose.html", context, status=422 if form else 200)


def _chosen(shots: list[ShotCount], asked: str) -> Shot | None:
    """What is asked for, else what was taken last of that which there are two of."""
    if asked in {row.shot.key for row in shots}:
        return Shot.of(asked)
    latest = max(shots, key=lambda row: (row.count > 1, row.latest), default=None)
    return latest.shot if latest else None
