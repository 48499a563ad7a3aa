"""A patient's consents: how they stand, taking, reading and withdrawing them."""

from datetime import datetime

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_safe

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, EVERYONE, allow, reads_clinical
from clinic.audit.services import record_read
from planning.consents import ConsentKind, Outcome
from records.consents.errors import ConsentError
from records.consents.forms import ConsentForm, NotGivenForm, WithdrawForm
from records.consents.models import Consent
from records.consents.papers import give_out_paper, keep_paper
from records.consents.queries import consents_with_text, standings, text_in_force
from records.consents.services import note_not_given, take_consent, withdraw_consent
from records.consents.supplied import ADAPT
from records.patients.models import Patient


@allow(*EVERYONE)
@require_GET
def consents_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """How each kind stands, for the patient's page. The front desk reads no more than that."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.consents")
    context = {
        "patient": patient,
        "standings": standings(patient, timezone.now()).values(),
        "sees_clinical": reads_clinical(request.user),
        "may_treat": Role.INJECTOR in request.user.roles,  # type: ignore[union-attr]
    }
    return render(request, "consents/_for_patient.html", context)


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def consent_take(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """Read the text with the patient, tick, and sign."""
    patient, which = get_object_or_404(Patient, pk=pk), kind_named(kind)
    text = text_in_force(which)
    form = ConsentForm(
        request.POST if request.method == "POST" else None,
        patient=patient,
        text=text,
        initial={"discussed_at": _talked_at(patient)},
    )
    if request.method == "POST" and form.is_valid():
        try:
            consent = take_consent(
                patient=patient, kind=which, version=form.cleaned_data["version"],
                ticked=form.ticked, talk=form.talk, signing=form.signing, actor=request.user,
            )  # fmt: skip
        except ConsentError as error:
            form.add_error(None, str(error))
        else:
            keep_paper(consent=consents_with_text().get(pk=consent.pk), actor=request.user)
            messages.success(request, "The consent is kept, and so is its paper.")
            return redirect("consent-detail", consent.pk)
    context = {
        "form": form,
        "patient": patient,
        "text": text,
        "adapt": ADAPT,
        "standing": standings(patient, timezone.now())[which],
    }
    status = 422 if form.errors else 200
    return render(request, "consents/take.html", context, status=status)


def _talked_at(patient: Patient) -> datetime:
    """The patient's last consultation that took place, else now."""
    consultations = patient.appointments.filter(kind="consultation", state="done")
    moments = consultations.order_by("-starts_at").values_list("starts_at", flat=True)
    return timezone.localtime(moments.first())


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def consent_not_given(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """Write down a refusal, or that the clinic declines to treat."""
    patient, which = get_object_or_404(Patient, pk=pk), kind_named(kind)
    form = NotGivenForm(
        request.POST if request.method == "POST" else None,
        patient=patient,
        back=reverse("patient-detail", args=[pk]),
        initial={"discussed_at": timezone.localtime()},
    )
    if request.method == "POST" and form.is_valid():
        try:
            consent = note_not_given(
                patient=patient, kind=which, outcome=Outcome(form.cleaned_data["outcome"]),
                reason=form.cleaned_data["reason"], talk=form.talk, actor=request.user,
            )  # fmt: skip
        except ConsentError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "It is in the record.")
            return redirect("consent-detail", consent.pk)
    context = {"form": form, "patient": patient, "kind": which}
    status = 422 if form.errors else 200
    return render(request, "consents/not_given.html", context, status=status)


@allow(*CLINICAL)
@require_GET
def consent_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One answer as it was given."""
    consent = _find(pk)
    record_read(request.user, consent, patient_id=consent.patient_id)
    standing = standings(consent.patient, timezone.now())[consent.kind]
    context = {
        "consent": consent,
        "patient": consent.patient,
        "standing": standing if standing.consent == consent else None,
        "papers": consent.papers.defer("pdf").order_by("shows_withdrawal"),
        "may_treat": Role.INJECTOR in request.user.roles,  # type: ignore[union-attr]
    }
    return render(request, "consents/detail.html", context)


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def consent_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """The patient no longer agrees."""
    consent = _find(pk)
    back = reverse("consent-detail", args=[pk])
    form = WithdrawForm(request.POST if request.method == "POST" else None, back=back)
    if request.method == "POST" and form.is_valid():
        try:
            withdraw_consent(consent=consent, actor=request.user, **form.cleaned_data)
        except ConsentError as error:
            form.add_error(None, str(error))
        else:
            keep_paper(consent=_find(pk), actor=request.user)
            messages.success(request, "The consent is withdrawn.")
            return redirect(back)
    context = {"form": form, "consent": consent, "patient": consent.patient}
    status = 422 if form.errors else 200
    return render(request, "consents/withdraw.html", context, status=status)


@allow(*CLINICAL)
@require_safe
def consent_paper(request: HttpRequest, pk: int) -> HttpResponse:
    """The signed paper, byte for byte as it was made."""
    pdf = give_out_paper(consent=_find(pk), actor=request.user)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="consent-{pk}.pdf"'
    return response


def kind_named(kind: str) -> ConsentKind:
    """
    Raises:
        Http404: there is no such kind.
    """
    try:
        return ConsentKind(kind)
    except ValueError as error:
        raise Http404 from error


def _find(pk: int) -> Consent:
    return get_object_or_404(consents_with_text(), pk=pk)
