"""The arithmetic of a vial of toxin, both ways, beside the published table."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from clinic.access.rules import CLINICAL, allow
from clinic.dilution.forms import DilutionForm
from planning.dilution_table import ROWS, common_doses
from planning.sources import TOXIN_DILUTION, TOXIN_NOT_INTERCHANGEABLE, TOXIN_USE_WITHIN


@allow(*CLINICAL)
@require_GET
def dilution(request: HttpRequest) -> HttpResponse:
    """What 0.1 mL holds, what to make it up with, and where the syringe's line is for a dose."""
    form = DilutionForm(request.GET if "content" in request.GET else None)
    context = {
        "form": form,
        "rows": ROWS,
        "sources": [TOXIN_DILUTION, TOXIN_USE_WITHIN, TOXIN_NOT_INTERCHANGEABLE],
    }
    if form.is_valid():
        vial, marking = form.vial, form.cleaned_data["marking"]
        dose = form.cleaned_data["dose"]
        context |= {
            "vial": vial,
            "asked": vial.drawn(dose, marking) if dose else None,
            "doses": common_doses(vial, marking),
        }
    return render(request, "dilution/dilution.html", context, status=422 if form.errors else 200)
