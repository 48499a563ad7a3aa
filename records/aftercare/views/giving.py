"""The aftercare of a session: giving the sheet, and what the patient answered the day after."""

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.return_path import return_path
from clinic.access.rules import CLINICAL, EVERYONE, allow, reads_clinical
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from records.aftercare.codes import code_svg
from records.aftercare.errors import AftercareError
from records.aftercare.forms import SettleForm
from records.aftercare.models import AftercareSheet, CheckIn, CheckInAnswer
from records.aftercare.queries import (
    Content,
    aftercare_of_patient,
    answers_of,
    content_of,
    sheets_of,
)
from records.aftercare.services.checking_in import settle_worry
from records.aftercare.services.sheets import print_sheet, send_sheet, show_sheet
from records.patients.models import Patient
from records.reminders.tokens import token_of
from records.sessions.models import TreatmentSession


@allow(*CLINICAL)
@require_GET
def aftercare_for_session(request: HttpRequest, pk: int) -> HttpResponse:
    """For the page of the session."""
    session = _session(pk)
    record_read(request.user, session, patient_id=session.patient_id, action="read.aftercare")
    try:
        content, why_not = content_of(session, current_policy()), ""
    except AftercareError as error:
        content, why_not = None, str(error)
    context = {
        "session": session,
        "content": content,
        "why_not": why_not,
        "sheets": sheets_of(session),
        "check_in": CheckIn.objects.filter(session=session).select_related("message").first(),
        "answers": answers_of(session),
    }
    return render(request, "aftercare/_for_session.html", context)


@allow(*EVERYONE)
@require_GET
def aftercare_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """For the page of the patient; the front desk sees that an answer came, and not which."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.aftercare")
    context = {
        "patient": patient,
        "rows": aftercare_of_patient(patient),
        "reads_clinical": reads_clinical(request.user),
    }
    return render(request, "aftercare/_for_patient.html", context)


@allow(*EVERYONE)
@require_POST
def aftercare_print(request: HttpRequest, pk: int) -> HttpResponse:
    session = _session(pk)
    try:
        sheet = print_sheet(session=session, actor=request.user)
    except AftercareError as error:
        return _back(request, session, str(error))
    return redirect("aftercare-pdf", sheet.pk)


@allow(*CLINICAL)
@require_POST
def aftercare_send(request: HttpRequest, pk: int) -> HttpResponse:
    session = _session(pk)
    try:
        way = send_sheet(session=session, actor=request.user)
    except AftercareError as error:
        return _back(request, session, str(error))
    messages.success(request, f"The sheet goes by {way.route.label.lower()}, as a link.")
    return _back(request, session)


@allow(*CLINICAL)
@require_POST
def aftercare_show(request: HttpRequest, pk: int) -> HttpResponse:
    session = _session(pk)
    try:
        sheet = show_sheet(session=session, actor=request.user)
    except AftercareError as error:
        return _back(request, session, str(error))
    return redirect("aftercare-sheet", sheet.pk)


@allow(*CLINICAL)
@require_GET
def sheet_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """What a sheet said; of one that is shown, the code to be read, as long as it can be opened."""
    sheet = _sheet(pk)
    session = sheet.session
    record_read(request.user, sheet, patient_id=session.patient_id)
    code = ""
    if sheet.reference and sheet.ends_at > timezone.now():
        path = reverse("aftercare-page", kwargs={"token": token_of(sheet.reference)})
        code = code_svg(f"{settings.PUBLIC_URL}{path}")
    context = {
        "sheet": sheet,
        "session": session,
        "patient": session.patient,
        "content": Content.of_json(sheet.content),
        "code": code,
    }
    return render(request, "aftercare/sheet.html", context)


@allow(*EVERYONE)
@require_GET
def sheet_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """A printed sheet, byte for byte; one that names products is for who reads clinical detail."""
    sheet = _sheet(pk)
    if sheet.pdf is None:
        raise Http404
    if sheet.content["given"] and not reads_clinical(request.user):
        raise PermissionDenied
    record_read(
        request.user, sheet, patient_id=sheet.session.patient_id, action="aftercare.printed"
    )
    response = HttpResponse(bytes(sheet.pdf), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="aftercare-{sheet.pk}.pdf"'
    return response


@allow(*CLINICAL)
@require_http_methods(["GET", "POST"])
def answer_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """What a patient answered the day after, and what was done about it."""
    answers = CheckInAnswer.objects.select_related(
        "check_in__session__patient", "check_in__session__injector", "settled_by"
    )
    answer = get_object_or_404(answers, pk=pk)
    session = answer.check_in.session
    record_read(request.user, answer, patient_id=session.patient_id)
    form = SettleForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            settle_worry(answer=answer, actor=request.user, **form.cleaned_data)
        except AftercareError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Written down. It is off the follow-up list.")
            return redirect("follow-up")
    context = {
        "answer": answer,
        "besides": answer.check_in.answers.exclude(pk=pk),
        "session": session,
        "patient": session.patient,
        "form": form,
    }
    status = 422 if form.errors else 200
    return render(request, "aftercare/answer.html", context, status=status)


def _session(pk: int) -> TreatmentSession:
    sessions = TreatmentSession.objects.standing().select_related("patient", "injector")
    return get_object_or_404(sessions, pk=pk)


def _sheet(pk: int) -> AftercareSheet:
    sheets = AftercareSheet.objects.select_related("session__patient", "given_by", "message")
    return get_object_or_404(sheets, pk=pk)


def _back(request: HttpRequest, session: TreatmentSession, refusal: str = "") -> HttpResponse:
    if refusal:
        messages.error(request, refusal)
    own = reverse("session-detail", args=[session.pk])
    if not reads_clinical(request.user):
        own = reverse("patient-detail", args=[session.patient_id])
    return redirect(return_path(request, otherwise=own))
