"""A patient's photographs: a part of the patient's page, all of them, one of them."""

import uuid

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.stock.forms import ReasonForm
from planning.standard_views import PhotoView
from records.patients.models import Patient
from records.photographs.enums import Use
from records.photographs.forms import CorrectForm, UseForm
from records.photographs.models import Photograph
from records.photographs.queries import with_uses
from records.photographs.views.finding import find_photograph

PER_PAGE = 48
_SHOWN_ON_THE_RECORD = 6
_OUTSIDE_MEANS = "From now on it is on no list of what may be used so. What was agreed can be read."
_WITHDRAWN_MEANS = {
    Use.RECORD: "Every other use is withdrawn with it. The photograph stays in the record: ask "
    "what your law says about keeping it, and take it out if it must go.",
    Use.TEACHING: _OUTSIDE_MEANS,
    Use.PUBLICATION: _OUTSIDE_MEANS,
}


@allow(*CLINICAL)
@require_GET
def photograph_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """The latest few, for the page of the patient."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.photographs")
    standing = patient.photographs.standing()
    context = {
        "patient": patient,
        "photographs": standing.latest_first()[:_SHOWN_ON_THE_RECORD],
        "count": standing.count(),
    }
    return render(request, "photographs/_for_patient.html", context)


@allow(*CLINICAL)
@require_GET
def photograph_list(request: HttpRequest, pk: int) -> HttpResponse:
    """All of a patient's, the latest first, of one view where the address names one."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.photographs")
    shown = with_uses(patient.photographs.standing().latest_first())
    view = request.GET.get("view", "")
    if view in PhotoView.__members__.values():
        shown = shown.filter(view=view)
    else:
        view = ""
    sees_removed = Role.OWNER in request.user.roles  # type: ignore[union-attr]
    removed = patient.photographs.filter(removed_at__isnull=False).select_related("removed_by")
    context = {
        "patient": patient,
        "page_obj": Paginator(shown, PER_PAGE).get_page(request.GET.get("page")),
        "views": list(PhotoView),
        "view": view,
        "removed": removed if sees_removed else removed.none(),
        "today": timezone.localdate(),
    }
    return render(request, "photographs/list.html", context)


@allow(*CLINICAL)
@require_GET
def photograph_detail(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """One photograph, what it may be used for, and what can be done with it."""
    photograph = find_photograph(request, key)
    return detail_page(request, photograph)


def _to_withdraw(photograph: Photograph) -> list[tuple[Use, str]]:
    """Each use that stands, and what withdrawing it means."""
    standing = set(photograph.uses.standing().values_list("use", flat=True))
    return [(use, _WITHDRAWN_MEANS[use]) for use in Use if use in standing]


def detail_page(request: HttpRequest, photograph: Photograph, **refused) -> HttpResponse:
    """
    The page of one photograph; opening its picture is what is noted in the trail.

    Args:
        refused: a form that was refused, as correct_form, use_form or reason_form.
    """
    taken_on = timezone.localtime(photograph.taken_at).date()
    context = {
        "photograph": photograph,
        "patient": photograph.patient,
        "uses": photograph.uses.select_related("noted_by", "withdrawn_by"),
        "to_withdraw": _to_withdraw(photograph),
        "today": timezone.localdate(),
        "correct_form": CorrectForm(initial={"shot": photograph.shot.key, "taken_on": taken_on}),
        "use_form": UseForm(),
        "reason_form": ReasonForm(),
        **refused,
    }
    return render(request, "photographs/detail.html", context, status=422 if refused else 200)
