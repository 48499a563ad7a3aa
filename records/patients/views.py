"""
Finding, registering and reading a patient.

What is typed into the search comes in the body of a POST: addresses are kept in logs.
"""

from copy import copy
from typing import cast

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, EVERYONE, allow
from clinic.audit.services import record_read
from clinic.staff.models import User
from planning.ages import age_years
from records.patients.enums import AlertLevel
from records.patients.errors import PatientError
from records.patients.forms import (
    AlertForm,
    EndAlertForm,
    NoneKnownForm,
    PatientForm,
    Registration,
    SearchForm,
)
from records.patients.models import Alert, Patient
from records.patients.queries import (
    Duplicate,
    Matches,
    alerts_by_level,
    find_patients,
    latest_patients,
    likely_duplicates,
    unread_level,
)
from records.patients.services import add_alert, end_alert, register_patient, save_patient
from records.patients.validators import weight_kg

# Key of what was last searched for, in the person's session.
SEARCHED = "patient_searched"
# In place of alerts whose words the reader does not read.
FROM_ANSWERS = "From the medical history: tell the injector"


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def patient_list(request: HttpRequest) -> HttpResponse:
    """The search as a page, also where no script runs."""
    if request.method == "POST":
        return keep_search(request)
    context = hits(kept_search(request), "patient-list-results")
    return render(request, "patients/list.html", context)


def keep_search(request: HttpRequest) -> HttpResponse:
    """
    The answer to a search that was sent: the same page, which then shows what was found.

    It is sent by POST, so that a name stands in no address, and fetched by GET, so that the browser
    can come back to it.
    """
    request.session[SEARCHED] = SearchForm(request.POST).typed
    query = request.GET.copy()
    query["found"] = ""
    return redirect(f"{request.path}?{query.urlencode()}")


def kept_search(request: HttpRequest) -> str:
    """What was searched for, on the page to which `keep_search` leads."""
    return request.session.get(SEARCHED, "") if "found" in request.GET else ""


@allow(*EVERYONE)
@require_POST
def patient_search(request: HttpRequest) -> HttpResponse:
    """The hits for what is typed so far."""
    typed = SearchForm(request.POST).typed
    return render(request, "patients/_hits.html", hits(typed, "patient-list-results"))


def hits(typed: str, place: str, *, on_enter: str = "open the record") -> dict:
    """
    Context of patients/_hits.html.

    Args:
        place: id of the element that holds them; it makes the ids of two lists on one page differ.
        on_enter: what the key does with the only hit, as it is read aloud.
    """
    matches = find_patients(typed) if typed else None
    return {
        "typed": typed,
        "matches": matches,
        "patients": matches.patients if matches else latest_patients(),
        "said": _said(matches, on_enter) if matches else "",
        "place": place,
    }


def choose_patient(
    request: HttpRequest, *, page: str, place: str, on_enter: str, **context
) -> HttpResponse:
    """
    The search of the patients' page for an act that needs a patient first; a hit leads back to the
    same address with the patient in it.

    Args:
        page: the template around `patients/_choose.html`.
        place, on_enter: as for `hits`.
    """
    typing = request.method == "POST" and "HX-Request" in request.headers
    if request.method == "POST" and not typing:
        return keep_search(request)
    typed = SearchForm(request.POST).typed if typing else kept_search(request)
    query = request.GET.copy()
    for name in ("found", "patient"):
        query.pop(name, None)
    query["patient"] = ""  # the last one: the patient's number follows it
    context |= {**hits(typed, place, on_enter=on_enter), "choose": f"?{query.urlencode()}"}
    return render(request, "patients/_hits.html" if typing else page, context)


def _said(matches: Matches, on_enter: str) -> str:
    """How many were found, as it is read aloud."""
    found = len(matches.patients)
    if matches.near:
        return f"Nobody is spelt so. Nearly: {found} patient{'' if found == 1 else 's'}."
    if matches.more:
        return (
            f"The first {found} are shown. More match: type another letter, or the date of birth."
        )
    if found == 1:
        return f"1 patient found. Press Enter to {on_enter}."
    return f"{found} patients found." if found else "No patient found."


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def patient_create(request: HttpRequest) -> HttpResponse:
    """Register a patient; who may be on record already is shown first."""
    page = Registration(request.POST if request.method == "POST" else None)
    questions: dict = {}
    if request.method == "POST" and page.is_valid():
        questions = _questions(request, page.patient)
        if not questions:
            patient = register_patient(
                patient=page.patient.instance, alerts=page.alerts, actor=request.user
            )
            messages.success(request, f"Registered as {patient.record_number}.")
            return redirect("patient-detail", patient.pk)
    context = {"page": page, **questions}
    return render(request, "patients/create.html", context)


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def patient_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change who the patient is or how to reach them."""
    patient = _opened(request, pk)
    # The form writes what is typed into its copy; the heading keeps the name on record.
    form = PatientForm(request.POST or None, instance=copy(patient))
    questions: dict = {}
    if request.method == "POST" and form.is_valid():
        questions = _questions(request, form, besides=pk)
        if not questions:
            if form.changed_data:
                save_patient(patient=form.instance, fields=form.changed_data, actor=request.user)
                messages.success(request, "Changes saved.")
            return redirect("patient-detail", pk)
    context = {"form": form, **questions, **_identity(request, patient)}
    return render(request, "patients/edit.html", context)


def _unconfirmed(request: HttpRequest, duplicates: list[Duplicate]) -> list[Duplicate]:
    """Those that the person has not yet seen and called another person."""
    seen = set(request.POST.get("another_person", "").split())
    return duplicates if {str(d.patient.pk) for d in duplicates} - seen else []


def _questions(request: HttpRequest, form: PatientForm, besides: int | None = None) -> dict:
    """
    What is asked before what is typed is saved, one thing at a time, as context; empty: save it.

    A number that was called right stays right until another one is typed.
    """
    phone, called_right = form.cleaned_data["phone"], request.POST.get("phone_as_typed", "")
    if "phone" in form.changed_data and phone != called_right and form.phone_doubt:
        return {"phone_doubt": form.phone_doubt, "phone": phone}
    if not form.says_who:
        return {}
    duplicates = _unconfirmed(request, likely_duplicates(form.person, besides=besides))
    return {"duplicates": duplicates, "phone_as_typed": called_right} if duplicates else {}


@allow(*EVERYONE)
@require_GET
def patient_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """The patient's record; other parts of it come from their own addresses."""
    patient = _opened(request, pk)
    roles = cast(User, request.user).roles
    ended = patient.alerts.ended().seen_by(request.user)
    context = {
        **_identity(request, patient),
        "weight": weight_kg(patient.weight_g) if patient.weight_g else "",
        "may_treat": Role.INJECTOR in roles,
        "sees_clinical": not roles.isdisjoint(CLINICAL),
        "levels": alerts_by_level(patient, cast(User, request.user)),
        "ended": ended.select_related("ended_by").order_by("-ended_at"),
    }
    return render(request, "patients/detail.html", context)


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def alert_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add an allergy or another alert."""
    return _add_alert(request, pk, AlertForm, "Add an allergy or alert")


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def alert_none_known(request: HttpRequest, pk: int) -> HttpResponse:
    """Note that allergies were asked for, and the patient knows of none."""
    return _add_alert(request, pk, NoneKnownForm, "No known allergies?")


def _add_alert(request: HttpRequest, pk: int, form_class, heading: str) -> HttpResponse:
    patient = _opened(request, pk)
    form = form_class(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        new = form.alert
        try:
            add_alert(
                patient=patient, kind=new.kind, level=new.level, text=new.text, actor=request.user
            )
        except PatientError as error:
            form.add_error(None, str(error))
        else:
            return redirect("patient-detail", pk)
    context = {"form": form, "heading": heading, **_identity(request, patient)}
    return render(request, "patients/alert.html", context)


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def alert_end(request: HttpRequest, pk: int) -> HttpResponse:
    """End an alert that no longer holds; one from a patient's answers, by who reads them."""
    alert = get_object_or_404(Alert.objects.current(), pk=pk)
    if not Alert.objects.seen_by(request.user).filter(pk=pk).exists():
        raise PermissionDenied
    patient = _opened(request, alert.patient_id)
    form = EndAlertForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            end_alert(alert=alert, reason=form.cleaned_data["reason"], actor=request.user)
        except PatientError as error:
            form.add_error("reason", str(error))
        else:
            return redirect("patient-detail", patient.pk)
    heading = "End this alert?"
    context = {"form": form, "heading": heading, "alert": alert, **_identity(request, patient)}
    return render(request, "patients/alert.html", context)


def _opened(request: HttpRequest, pk: int) -> Patient:
    """The patient whose record is shown now; opening it is in the audit trail."""
    patient = get_object_or_404(Patient, pk=pk)
    if request.method == "GET":
        record_read(request.user, patient, patient_id=patient.pk)
    return patient


def _identity(request: HttpRequest, patient: Patient) -> dict:
    """Context of patients/_identity.html."""
    reader = cast(User, request.user)
    unread = unread_level(patient, reader)
    alerts = [(alert.level, str(alert)) for alert in patient.alerts.current().seen_by(reader)]
    if unread:
        alerts.append((unread, FROM_ANSWERS))
    return {
        "patient": patient,
        "age": age_years(patient.birth_date, timezone.localdate()),
        "unread": unread,
        "loud_alerts": [row for row in alerts if AlertLevel(row[0]).is_loud],
    }
