"""Asking a patient: begun from the record, answered on the clinic's tablet or read out."""

from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from clinic.access.rules import CLINICAL, EVERYONE, allow, reads_clinical
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from clinic.staff.models import User
from clinic.tablets.handing_over import close_page, hand_over, is_handed_over
from records.patients.models import Patient
from records.screening.enums import CheckKind, Way
from records.screening.errors import FormClosed, ScreeningError
from records.screening.forms import HistoryFillForm
from records.screening.models import HistoryForm
from records.screening.queries import Standing, answers_to_start_from, standing_of
from records.screening.services.histories import begin_history, confirm_unchanged, send_history


@allow(*EVERYONE)
@require_POST
def begin_on_tablet(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand the tablet over: it shows the questions and nothing else until it is taken back."""
    patient = get_object_or_404(Patient, pk=pk)
    form = begin_history(patient=patient, way=Way.TABLET, actor=cast(User, request.user))
    page = reverse("screening-fill", kwargs={"pk": form.pk})
    hand_over(request, page=page, back=reverse("patient-detail", kwargs={"pk": pk}))
    return redirect(page)


@allow(*CLINICAL)
@require_POST
def begin_read_out(request: HttpRequest, pk: int) -> HttpResponse:
    patient = get_object_or_404(Patient, pk=pk)
    form = begin_history(patient=patient, way=Way.STAFF, actor=cast(User, request.user))
    return redirect("screening-read-out", pk=form.pk)


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def fill(request: HttpRequest, pk: int) -> HttpResponse:
    """The questions on a tablet that was handed over."""
    history = _history(pk, Way.TABLET)
    if not is_handed_over(request):
        return redirect("patient-detail", history.patient_id)
    form = _typed(request, history)
    if _is_kept(request, history, form):
        close_page(request)
        return redirect("tablet-take-back")
    context = {"clinic": current_policy(), "standing": _to_confirm(history)}
    return _page(request, history, form, "screening/fill_tablet.html", context)


@allow(*CLINICAL)
@require_http_methods(["GET", "POST"])
def read_out(request: HttpRequest, pk: int) -> HttpResponse:
    """The questions before whoever reads them out."""
    history = _history(pk, Way.STAFF)
    form = _typed(request, history)
    if _is_kept(request, history, form):
        messages.success(request, "The answers are saved. Read them, and note that you did.")
        return redirect("screening-detail", history.pk)
    return _page(request, history, form, "screening/fill_staff.html", {})


def _history(pk: int, way: Way) -> HistoryForm:
    forms = HistoryForm.objects.select_related("patient", "questionnaire", "begun_by")
    return get_object_or_404(forms.filter(way=way), pk=pk)


def _typed(request: HttpRequest, history: HistoryForm) -> HistoryFillForm:
    sent = request.POST if request.method == "POST" else None
    before = answers_to_start_from(history)
    return HistoryFillForm(history.questionnaire, sent, start_from=before)


def _is_kept(request: HttpRequest, history: HistoryForm, form: HistoryFillForm) -> bool:
    """Whether the answers were sent and kept; the page says what is in the way otherwise."""
    if not form.is_valid():
        return False
    try:
        send_history(form=history, answers=form.answers, actor=cast(User, request.user))
    except FormClosed:
        history.refresh_from_db()
        return False
    return True


def _page(
    request: HttpRequest,
    history: HistoryForm,
    form: HistoryFillForm,
    template: str,
    more: dict[str, Any],
) -> HttpResponse:
    if request.method == "GET":
        record_read(request.user, history, patient_id=history.patient_id)
    context = {"form": form, "history": history, "is_closed": not history.is_waiting, **more}
    return render(request, template, context, status=422 if form.is_bound else 200)


def _to_confirm(history: HistoryForm) -> Standing | None:
    """The history of which the patient may say that nothing changed: of the same questions."""
    standing = standing_of(history.patient, None)
    is_same = standing.form and standing.form.questionnaire_id == history.questionnaire_id
    is_shown = reads_clinical(history.begun_by)
    return standing if is_same and is_shown else None


@allow(*EVERYONE)
@require_POST
def unchanged_on_tablet(request: HttpRequest, pk: int) -> HttpResponse:
    """The patient says on the tablet that nothing changed."""
    forms = HistoryForm.objects.waiting().filter(way=Way.TABLET).select_related("patient")
    history = get_object_or_404(forms, pk=pk)
    if not is_handed_over(request):
        return redirect("patient-detail", history.patient_id)
    try:
        confirm_unchanged(
            patient=history.patient,
            kind=CheckKind.UNCHANGED_PATIENT,
            actor=cast(User, request.user),
        )
    except ScreeningError as error:
        messages.error(request, str(error))
        return redirect("screening-fill", pk=pk)
    close_page(request)
    return redirect("tablet-take-back")


@allow(*EVERYONE)
@require_POST
def unchanged(request: HttpRequest, pk: int) -> HttpResponse:
    """Staff asked, and nothing changed."""
    patient = get_object_or_404(Patient, pk=pk)
    actor = cast(User, request.user)
    try:
        confirm_unchanged(patient=patient, kind=CheckKind.UNCHANGED_STAFF, actor=actor)
    except ScreeningError as error:
        messages.error(request, str(error))
    else:
        day = f"{timezone.localdate():%-d %B %Y}"
        messages.success(request, f"Noted: nothing changed, {day}.")
    return redirect("patient-detail", pk)
