"""The waiting list, and putting people on it and taking them off."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow
from clinic.audit.services import record_read
from records.patients.models import Patient
from records.patients.views import choose_patient
from records.waiting_list.errors import AlreadyWaiting, EntryClosed, ReasonMissing
from records.waiting_list.forms import AskedFor, EntryForm, FilterForm, ReasonForm
from records.waiting_list.models import Offer, WaitingEntry
from records.waiting_list.queries.lists import next_fit, open_offers, rows, standing_entries
from records.waiting_list.queries.matching import open_times
from records.waiting_list.services.entries import add_entry, change_entry, reopen_entry
from records.waiting_list.services.offers import expire_offers, remove_entry

PAGE_SIZE = 50


@allow(*EVERYONE)
@require_GET
def waiting_list(request: HttpRequest) -> HttpResponse:
    """The times that came free, the offers that are open, and everybody who waits, in order."""
    expire_offers()
    asked = FilterForm(request.GET)
    asked.is_valid()
    kind, practitioner = (asked.cleaned_data.get(name) for name in ("kind", "practitioner"))
    entries = standing_entries(kind=kind or "", practitioner=practitioner)
    page = Paginator(entries, PAGE_SIZE).get_page(request.GET.get("page"))
    context = {
        "asked": asked,
        "is_filtered": kind or practitioner,
        "times": open_times(),
        "offers": open_offers(),
        "page_obj": page,
        "rows": rows(page.object_list),
        "now": timezone.now(),
    }
    return render(request, "waiting_list/list.html", context)


@allow(*EVERYONE)
@require_GET
def for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """What a patient waits for, for the page of the patient."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="waiting_list.read")
    entries = patient.waiting_entries.select_related("practitioner", "site", "appointment")
    context = {
        "patient": patient,
        "rows": rows(entries.standing().in_order()),
        "left": entries.filter(closed_at__isnull=False).order_by("-closed_at")[:3],
        "back": request.htmx.current_url_abs_path or "",  # type: ignore[attr-defined]
    }
    return render(request, "waiting_list/_for_patient.html", context)


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def entry_add(request: HttpRequest) -> HttpResponse:
    """Put the patient the address names on the list; without one, choose the patient first."""
    asked = AskedFor(request.GET)
    asked.is_valid()
    given = asked.cleaned_data
    patient = given.get("patient")
    if patient is None:
        return choose_patient(
            request,
            page="waiting_list/choose_patient.html",
            place="waiting-results",
            on_enter="put this patient on the list",
        )
    form = EntryForm(
        request.POST if request.method == "POST" else None,
        instance=WaitingEntry(patient=patient),
        back=return_path(request, otherwise=reverse("waiting-list")),
        initial={name: given[name] for name in ("kind", "practitioner") if given.get(name)},
    )
    if request.method == "POST" and form.is_valid():
        try:
            add_entry(entry=form.save(commit=False), actor=request.user)
        except (AlreadyWaiting, ReasonMissing) as refusal:
            form.add_error("kind", str(refusal))
        else:
            messages.success(request, f"{patient} is on the waiting list.")
            return redirect(form.back)
    return _form_page(request, form, patient)


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def entry_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what suits."""
    entry = get_object_or_404(WaitingEntry.objects.standing().with_people(), pk=pk)
    form = EntryForm(
        request.POST if request.method == "POST" else None,
        instance=entry,
        back=return_path(request, otherwise=reverse("waiting-list")),
    )
    if request.method == "POST" and form.is_valid():
        try:
            change_entry(entry=form.save(commit=False), actor=request.user)
        except (AlreadyWaiting, ReasonMissing) as refusal:
            form.add_error("kind", str(refusal))
        except EntryClosed as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "Saved.")
            return redirect(form.back)
    return _form_page(request, form, entry.patient)


def _form_page(request: HttpRequest, form: EntryForm, patient: Patient) -> HttpResponse:
    context = {"form": form, "patient": patient, "is_new": form.instance.pk is None}
    return render(request, "waiting_list/form.html", context, status=422 if form.errors else 200)


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def entry_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take somebody off the list."""
    entry = get_object_or_404(WaitingEntry.objects.standing().with_people(), pk=pk)
    form = ReasonForm(
        request.POST if request.method == "POST" else None,
        back=return_path(request, otherwise=reverse("waiting-list")),
        label="Why the patient is taken off",
        button="Take off the list",
    )
    if request.method == "POST" and form.is_valid():
        try:
            remove_entry(entry=entry, actor=request.user, **form.cleaned_data)
        except EntryClosed as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{entry.patient} is off the waiting list.")
            return redirect(form.back)
    offer = Offer.objects.open().filter(entry=entry).select_related("appointment").first()
    context = {"form": form, "entry": entry, "offer": offer}
    status = 422 if form.errors else 200
    return render(request, "waiting_list/remove.html", context, status=status)


@allow(*EVERYONE)
@require_POST
def entry_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """The booking was no answer to what the patient waits for."""
    entry = get_object_or_404(WaitingEntry, pk=pk)
    try:
        reopen_entry(entry=entry, actor=request.user)
    except (EntryClosed, AlreadyWaiting) as refusal:
        messages.error(request, str(refusal))
    return redirect(return_path(request, otherwise=reverse("waiting-list")))


@allow(*EVERYONE)
@require_GET
def next_time(request: HttpRequest, pk: int) -> HttpResponse:
    """The next time in the diary that suits one entry, worked out when somebody asks."""
    entry = get_object_or_404(WaitingEntry.objects.standing().with_people(), pk=pk)
    fit = next_fit(entry)
    context = {"entry": entry, "fit": fit, "address": booking_address(entry, fit)}
    return render(request, "waiting_list/_next_time.html", context)


def booking_address(entry: WaitingEntry, fit=None) -> str:
    """The booking page for an entry, at a time that fits if one is given."""
    asked = {"patient": entry.patient_id, "kind": entry.kind}
    practitioner = fit.practitioner.pk if fit else entry.practitioner_id
    if practitioner:
        asked["practitioner"] = practitioner
    if fit:
        local = timezone.localtime(fit.starts_at)
        asked |= {"day": f"{local:%Y-%m-%d}", "start": f"{local:%H:%M}"}
        if fit.room:
            asked["room"] = fit.room.pk
    asked["next"] = reverse("waiting-list")
    return f"{reverse('appointment-create')}?{urlencode(asked)}"
